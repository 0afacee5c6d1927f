"""The measured figures as a Markdown page."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

Row = dict[str, Any]
LINE_FIELDS = {
    "sentences_right": "exactly right", "word_error": "word error",
    "values_right": "readings exactly right", "meaning_right": "meaning right",
    "acted_on": "acted on", "asked_back": "asked back", "wrong_value": "wrong value accepted",
    "wrong_command": "wrong command accepted",
}  # fmt: skip
STEP_FIELDS = {
    "meaning_right": "meaning right", "acted_on": "acted on", "asked_back": "asked back",
    "wrong_value": "wrong value accepted", "wrong_command": "wrong command accepted",
}  # fmt: skip
HOUR_FIELDS = {
    "wrong_value_per_hour": "values taken an hour",
    "wrong_command_per_hour": "commands taken an hour",
    "asked_back_per_hour": "asked about an hour", "harmless_per_hour": "answered an hour",
}  # fmt: skip


def markdown(figures: Row, name: str = "results") -> str:
    """The whole page; `name` is that of its files."""
    model = figures["model"]
    parts = [
        "# Measured results",
        f"Made by `python -m fieldvoice.training.evaluate.benchmark` on {figures['date']} "
        f"({versions(figures)}; sentences: {figures['half']}; model {model['digest']}, "
        f"{model['megabytes']} MB). How the sets are made stands at the top of benchmark.py. Noise "
        "is laid over each sentence at the given decibels, speech over noise; under \"machines\" "
        "the vacuum pump, the fan and the compressor take turns.",
        f"![Accuracy against noise]({name}-noise.svg)",
        _footprint(figures),
        outcomes(figures),
        *(_sentences(figures, kind) for kind in _of_kind(figures, "lines")),
        *(_sentences(figures, kind) for kind in _of_kind(figures, "in a row")),
        *(_numbers(figures, kind) for kind in _of_kind(figures, "numbers")),
        _talk(figures),
        _steps(figures),
        _reliability(figures, name),
        "## Thresholds\n\n" + proposals(figures),
    ]  # fmt: skip
    return "\n\n".join(p for p in parts if p) + "\n"


def versions(figures: Row) -> str:
    """Of Python and of every recognizer, as one phrase."""
    return ", ".join(f"{name} {number}" for name, number in figures["versions"].items())


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A Markdown table, the first column to the left and the others to the right."""
    lines = [head, [":--", *["--:"] * (len(head) - 1)], *rows]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def percent(share: float) -> str:
    """One decimal; two where a tenth would hide it."""
    return f"{100 * share:.2f} %" if 0 < share < 0.002 else f"{100 * share:.1f} %"


def _of_kind(figures: Row, kind: str) -> list[str]:
    return [name for name, one in figures["sets"].items() if one["kind"] == kind]


def _rows(figures: Row, kind: str) -> list[Row]:
    return [row for row in figures["rows"] if row["set"] == kind]


def _title(figures: Row, kind: str) -> str:
    one = figures["sets"][kind]
    return f"## {one['count']} {one['about']}"


def outcomes(figures: Row) -> str:
    """What becomes of every line, a row for each set and condition, before -> after."""
    rows = figures.get("outcomes", [])
    if not rows:
        return ""
    kinds = list(rows[0]["after"])
    cells = [[row["set"], row["condition"], str(row["lines"]),
              *(_change(row, kind) for kind in kinds)] for row in rows]  # fmt: skip
    note = ("Each line counts once. Wrong: another value or command is taken. Lost: it must be "
            "said again. Where two figures stand, the first is the model before.")  # fmt: skip
    head = ["set", "condition", "lines", *kinds]
    return f"## What becomes of the lines\n\n{table(head, cells)}\n\n{note}"


def _change(row: Row, kind: str) -> str:
    after = percent(row["after"][kind])
    return f"{percent(row['before'][kind])} -> {after}" if "before" in row else after


def _footprint(figures: Row) -> str:
    ours = [r["cpu_per_s"] for r in figures["rows"] if r["recognizer"] == "fieldvoice"]
    clean = [r["cpu_per_s"] for r in figures["rows"]
             if r["recognizer"] == "fieldvoice" and r["condition"] == "clean"]  # fmt: skip
    rows = [[who, f"{foot['resident_mb']:.0f} MB", f"{foot['load_s']:.2f} s"]
            for who, foot in figures["footprint"].items()]  # fmt: skip
    return (
        f"Decoding takes {min(clean):.3f} to {max(clean):.3f} s of one core for a second of clean "
        f"sound, {max(ours):.3f} s at worst.\n\n" + table(["", "resident", "loaded in"], rows)
    )


def _sentences(figures: Row, kind: str) -> str:
    """Lines of the grammar; where a peer heard them too, it is compared by meaning."""
    rows = _rows(figures, kind)
    if len({row["recognizer"] for row in rows}) > 1:
        return _compared(figures, kind, rows)
    lines = [[r["condition"], str(r["sentences"]), *(percent(r[f]) for f in LINE_FIELDS)]
             for r in rows]  # fmt: skip
    head = ["condition", "lines", *LINE_FIELDS.values()]
    return f"{_title(figures, kind)}\n\n{table(head, lines)}"


def _compared(figures: Row, kind: str, rows: list[Row]) -> str:
    head = ["recognizer, condition", "readings exactly right", "meaning right",
            "wrong if all were believed", "every word right", "wrong value accepted",
            "core s per s"]  # fmt: skip
    lines = []
    for r in rows:
        ours = r["recognizer"].startswith("fieldvoice")
        own = [percent(r["sentences_right"]), percent(r["wrong_value"])] if ours else ["-", "-"]
        lines.append([f"{r['recognizer']}, {r['condition']}", percent(r["values_right"]),
                      percent(r["meaning_right"]), percent(r["wrong_if_believed"]), *own,
                      f"{r['cpu_per_s']:.3f}"])  # fmt: skip
    return f"{_title(figures, kind)}\n\n{table(head, lines)}"


def _numbers(figures: Row, kind: str) -> str:
    head = ["recognizer, condition", "value right", "all words right", "word error", "core s per s"]
    lines = []
    for r in _rows(figures, kind):
        words = [percent(r["sentences_right"]), percent(r["word_error"])]
        if r["recognizer"].startswith("Whisper"):
            words = ["-", "-"]
        lines.append([f"{r['recognizer']}, {r['condition']}", percent(r["values_right"]), *words,
                      f"{r['cpu_per_s']:.3f}"])  # fmt: skip
    note = ("Every recognizer's words are understood by the number grammar and compared by value. "
            "Whisper writes figures (\"1,412\"): they are said again in words first, with commas "
            "and full stops left out, so that \"4,300,90\" counts as 4,390. It has no grammar to "
            "lean on; PocketSphinx has the same number grammar as fieldvoice.")  # fmt: skip
    return f"{_title(figures, kind)}\n\n{table(head, lines)}\n\n{note}"


def _talk(figures: Row) -> str:
    names = [*_of_kind(figures, "talk"), *_of_kind(figures, "unspoken")]
    head = ["set, condition", "hours", *HOUR_FIELDS.values()]
    lines = [
        [f"{r['set']}, {r['condition']}", f"{r['hours']:.2f}",
         *(f"{r[f]:.1f}" for f in HOUR_FIELDS)]
        for name in names for r in _rows(figures, name)
    ]  # fmt: skip
    about = "; ".join(f"{name}: {figures['sets'][name]['about']}" for name in names)
    return f"## What is not for Fieldvoice\n\n{table(head, lines)}\n\n{about}." if lines else ""


def _steps(figures: Row) -> str:
    lines = [[f"{r['condition']}, {r['waits_for']}",
              *(percent(r[f]) for f in STEP_FIELDS)]
             for r in figures["steps"] if r["condition"] != "talk"]  # fmt: skip
    talk = [[f"talk, {r['waits_for']}", *(f"{r[f]:.1f}" for f in HOUR_FIELDS)]
            for r in figures["steps"] if r["condition"] == "talk"]  # fmt: skip
    note = (f"What the step waits for is taken to be {figures['in_force']['expected']:g} times as "
            "likely. \"As on a job\": four lines in five are what the step waits for.")  # fmt: skip
    parts = ["## What leaning to the open step gives", table(["", *STEP_FIELDS.values()], lines),
             table(["", *HOUR_FIELDS.values()], talk), note]  # fmt: skip
    return "\n\n".join(parts) if lines else ""


def _reliability(figures: Row, name: str) -> str:
    head = ["confidence", "how many", "mean confidence", "right"]
    parts = ["## Does confidence mean what it says?", f"![Confidence]({name}-confidence.svg)"]
    for what, bins in figures["reliability"].items():
        rows = [[f"{b['low']:.2f} to {b['high']:.2f}", str(b["count"]),
                 percent(b["mean_confidence"]), percent(b["right"])] for b in bins]  # fmt: skip
        if rows:
            parts += [f"{what.capitalize()}:", table(head, rows)]
    parts.append("All conditions together. A line's confidence is that of its meaning, without any "
                 "step open. Well calibrated would be: right = confidence.")  # fmt: skip
    return "\n\n".join(parts)


def proposals(figures: Row) -> str:
    """What the lines up to 10 dB of noise ask for, beside what is in force."""
    best, force = figures["proposed"], figures["in_force"]
    costs = ", ".join(f"{k.replace('_', ' ')} {v:g}" for k, v in best["costs"].items())
    rows = [[f"{c['accept_from']:.2f}", percent(c["acted_on"]), percent(c["wrong_value"]),
             percent(c["wrong_command"]), f"{c['talk_accepted_per_hour']:.1f}",
             f"{c['cost']:.3f}"] for c in best["choices"]]  # fmt: skip
    head = ["accept from", "acted on", "wrong value", "wrong command", "talk taken an hour",
            "cost a line"]  # fmt: skip
    names = ("accept_from", "ignore_below")
    asked = ", ".join(f"{n.replace('_', ' ')} {best[n]:g}" for n in names)
    set_to = ", ".join(f"{n.replace('_', ' ')} {force[n]:g}" for n in names)
    return (
        f"These lines ({', '.join(best['conditions'])}) and this talk ask for: {asked}, at "
        f"{best['cost_a_line']:.3f} a line. In force (dialogue/confidence.py): {set_to}.\n\n"
        f"{table(head, rows)}\n\nCosts, in questions asked for nothing: {costs}."
    )
