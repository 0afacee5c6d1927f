"""The measured figures as a Markdown page."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

SETS = {
    "joe": "grammar sentences, neural voice of another make than any in training",
    "kokoro": "grammar sentences, four neural voices kept out of training",
    "talk": "everyday words, not for Fieldvoice, the same four voices",
    "person": "numbers 0-19,999 of a real person",
}
SENTENCES = ["condition", "exactly right", "word error", "meaning right", "acted on", "asked back",
             "wrong value taken", "wrong command taken"]  # fmt: skip
FIELDS = ["sentences_right", "word_error", "meaning_right", "acted_on", "asked_back",
          "wrong_value", "wrong_command"]  # fmt: skip


def markdown(figures: dict[str, Any]) -> str:
    """The whole page."""
    versions = ", ".join(f"{k} {v}" for k, v in figures["versions"].items())
    parts = [
        "# Measured results",
        f"Made by `python -m fieldvoice.acoustic.evaluate` on {figures['date']} ({versions}; "
        f"sentences: {figures['half']}). How the sets are made stands at the top of evaluate.py; "
        "noise is laid over each sentence at the given decibels, speech over noise.",
        _footprint(figures),
        *(_sentences(figures, kind) for kind in ("joe", "kokoro")),
        _talk(figures),
        _numbers(figures),
        _reliability(figures),
        _thresholds(figures),
    ]
    return "\n\n".join(p for p in parts if p) + "\n"


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A Markdown table, the first column to the left and the others to the right."""
    lines = [head, [":--", *["--:"] * (len(head) - 1)], *rows]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def percent(share: float) -> str:
    """One decimal."""
    return f"{100 * share:.1f} %"


def _rows(figures: dict[str, Any], kind: str) -> list[dict[str, Any]]:
    return [row for row in figures["rows"] if row["set"] == kind]


def _footprint(figures: dict[str, Any]) -> str:
    own = [r["cpu_per_s"] for r in figures["rows"] if r["recognizer"] == "fieldvoice"]
    foot = figures["footprint"]
    return (
        f"Decoding takes {min(own):.3f} to {max(own):.3f} s of one core for a second of sound, "
        f"{foot['resident_mb']:.0f} MB of memory, and {foot['load_s']:.2f} s to load."
    )


def _sentences(figures: dict[str, Any], kind: str) -> str:
    rows = _rows(figures, kind)
    if not rows:
        return ""
    lines = [[r["condition"], *(percent(r[f]) for f in FIELDS)] for r in rows]
    return f"## {rows[0]['sentences']} {SETS[kind]}\n\n{table(SENTENCES, lines)}"


def _talk(figures: dict[str, Any]) -> str:
    rows = _rows(figures, "talk")
    head = ["condition", "value taken", "command taken", "asked back"]
    fields = ["wrong_value", "wrong_command", "asked_back"]
    lines = [[r["condition"], *(percent(r[f]) for f in fields)] for r in rows]
    title = f"## {rows[0]['sentences']} runs of {SETS['talk']}" if rows else ""
    hours = f"{figures['talk_hours']:.2f} hours of sound in all."
    return f"{title}\n\n{table(head, lines)}\n\n{hours}" if rows else ""


def _numbers(figures: dict[str, Any]) -> str:
    rows = _rows(figures, "person")
    head = ["recognizer, condition", "numbers right", "word error", "core s per s"]
    lines = [[f"{r['recognizer']}, {r['condition']}", percent(r["sentences_right"]),
              percent(r["word_error"]), f"{r['cpu_per_s']:.3f}"] for r in rows]  # fmt: skip
    title = f"## {rows[0]['sentences']} {SETS['person']}" if rows else ""
    return f"{title}\n\n{table(head, lines)}" if rows else ""


def _reliability(figures: dict[str, Any]) -> str:
    head = ["confidence of a word", "words", "mean confidence", "right"]
    lines = [[f"{b['low']:.2f} to {b['high']:.2f}", str(b["words"]),
              percent(b["mean_confidence"]), percent(b["right"])]
             for b in figures["reliability"]]  # fmt: skip
    note = "Both grammar sets under all conditions. Well calibrated would be: right = confidence."
    return f"## Does confidence mean what it says?\n\n{table(head, lines)}\n\n{note}"


def _thresholds(figures: dict[str, Any]) -> str:
    best = figures["cheapest_thresholds"]
    costs = ", ".join(f"{k.replace('_', ' ')} {v:g}" for k, v in best["costs"].items())
    return (
        f"Cheapest thresholds: accept from {best['accept_from']:.2f}, ignore below "
        f"{best['ignore_below']:.2f}, at {best['cost_a_line']:.2f} a line (costs: {costs}). "
        "Those in force are in fieldvoice/job/trust.py."
    )
