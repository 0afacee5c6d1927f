"""Two drawings of a benchmark run as SVG: accuracy against noise, and confidence against truth."""

from __future__ import annotations

import math
from io import StringIO
from typing import Any

import matplotlib

from fieldvoice.training.evaluate import results_table

matplotlib.use("svg")
from matplotlib import pyplot as plt
from matplotlib.axes import Axes
from matplotlib.ticker import PercentFormatter

Row = dict[str, Any]
SIZE = (11.0, 4.8)  # inches
COLOURS = {  # told apart by most colour-blind eyes
    "fieldvoice": "#14507a", "fieldvoice, numbers only": "#5b9bc8",
    "PocketSphinx, numbers only": "#9aa0a5", "Whisper tiny": "#c2570c",
}  # fmt: skip
VOICES = {  # set -> what it is called, colour, mark
    "kokoro": ("held-out voices", "#2e8b57", "s"),
    "joe": ("voice of another make", "#14507a", "o"),
}
BASE_Z = 1.96  # 95 % of a normal distribution
SETTINGS = {
    "svg.fonttype": "none", "svg.hashsalt": "fieldvoice", "font.family": "sans-serif",
    "font.size": 10, "axes.spines.top": False, "axes.spines.right": False,
    "axes.grid": True, "axes.axisbelow": True, "grid.color": "#e3e6e8",
}  # fmt: skip


def accuracy(figures: Row) -> str:
    """Left: our lines beside machines; right: a person's numbers, all recognizers."""
    with matplotlib.rc_context(SETTINGS):
        drawing, (left, right) = plt.subplots(1, 2, figsize=SIZE, layout="constrained")
        _machines(left, figures)
        _person(right, figures)
        return _svg(drawing, figures)


def _machines(axes: Axes, figures: Row) -> None:
    ticks: dict[str, int] = {}
    for name, (called, colour, mark) in VOICES.items():
        rows = [r for r in figures["rows"] if r["set"] == name and _is_plotted(r["condition"])]
        for row in rows:
            ticks.setdefault(row["condition"], len(ticks))
        places = [ticks[row["condition"]] for row in rows]
        for what, style in (("meaning_right", "-"), ("sentences_right", "--")):
            label = f"{called}, {'meaning right' if style == '-' else 'every word right'}"
            axes.plot(places, [r[what] for r in rows], style, color=colour, marker=mark,
                      label=label)  # fmt: skip
    axes.set_xticks(list(ticks.values()), [_decibels(condition) for condition in ticks])
    axes.set_title("Grammar sentences beside a machine", loc="left")
    axes.set_xlabel("speech over noise of vacuum pump, fan or compressor")
    worst = min([r["sentences_right"] for r in figures["rows"]
                 if r["set"] in VOICES and _is_plotted(r["condition"])], default=0.0)  # fmt: skip
    _finish(axes, max(0.0, math.floor(10 * worst) / 10 - 0.1))
    axes.legend(loc="lower left", fontsize=8.5)


def _is_plotted(condition: str) -> bool:
    return condition == "clean" or condition.startswith("machines")


def _decibels(condition: str) -> str:
    return condition.replace("machines ", "") + (" dB" if condition != "clean" else "")


def _person(axes: Axes, figures: Row) -> None:
    rows = [r for r in figures["rows"] if r["set"] == "person"]
    conditions = list(dict.fromkeys(r["condition"] for r in rows))
    names = list(dict.fromkeys(r["recognizer"] for r in rows))
    for k, name in enumerate(names):
        found = {r["condition"]: r["values_right"] for r in rows if r["recognizer"] == name}
        width = 0.8 / len(names)
        places = [c + (k - (len(names) - 1) / 2) * width for c in range(len(conditions))]
        bars = axes.bar(places, [found[c] for c in conditions], width * 0.92,
                        color=COLOURS[name], label=name)  # fmt: skip
        axes.bar_label(bars, [f"{100 * found[c]:.0f}" for c in conditions], fontsize=8)
    axes.set_xticks(range(len(conditions)), [_noise(c) for c in conditions])
    axes.grid(visible=False, axis="x")
    axes.set_title("Numbers of a real person, value right", loc="left")
    _finish(axes, 0.0)
    axes.legend(loc="upper center", bbox_to_anchor=(0.5, -0.09), ncols=2, fontsize=8.5,
                frameon=False)  # fmt: skip


def _noise(condition: str) -> str:
    return condition if condition == "clean" else f"{condition} dB"


def _finish(axes: Axes, lowest: float) -> None:
    axes.set_ylim(lowest, 1.04)
    axes.yaxis.set_major_formatter(PercentFormatter(1.0))


def confidence(figures: Row) -> str:
    """For words and for lines: the share that was right against the confidence given."""
    told = {what: bins for what, bins in figures["reliability"].items() if bins}
    with matplotlib.rc_context(SETTINGS):
        drawing, all_axes = plt.subplots(1, max(1, len(told)), figsize=SIZE, layout="constrained",
                                         squeeze=False)  # fmt: skip
        for axes, (what, bins) in zip(all_axes[0], told.items(), strict=False):
            axes.plot([0, 1], [0, 1], color="#8a8f94", linewidth=1)
            low, high = zip(*(_interval(b) for b in bins), strict=True)
            means, right = ([b[key] for b in bins] for key in ("mean_confidence", "right"))
            errors = [[max(0.0, r - at) for r, at in zip(right, low, strict=True)],
                      [max(0.0, at - r) for r, at in zip(right, high, strict=True)]]  # fmt: skip
            axes.errorbar(means, right, errors, color="#14507a", marker="o", capsize=3)
            axes.set_title(f"{what.capitalize()}: {sum(b['count'] for b in bins):,}", loc="left")
            axes.set_xlabel("confidence given")
            axes.set_ylabel("right")
            axes.set_xlim(0, 1.02)
            axes.xaxis.set_major_formatter(PercentFormatter(1.0))
            _finish(axes, 0.0)
        return _svg(drawing, figures)


def _interval(b: Row) -> tuple[float, float]:
    """Wilson's 95 % interval of a share (E. B. Wilson, J. Am. Stat. Assoc. 22, 1927)."""
    n, share, z = b["count"], b["right"], BASE_Z
    middle = (share + z * z / (2 * n)) / (1 + z * z / n)
    half = z / (1 + z * z / n) * math.sqrt(share * (1 - share) / n + z * z / (4 * n * n))
    return middle - half, middle + half


def _svg(drawing: Any, figures: Row) -> str:
    versions = results_table.versions(figures)
    foot = f"{figures['date']}; model {figures['model']['digest']}; {versions}"
    drawing.supxlabel(foot, fontsize=7, color="#5b6670", x=0.01, ha="left")
    page = StringIO()
    drawing.savefig(page, format="svg", metadata={"Date": None}, facecolor="white")
    plt.close(drawing)
    return "\n".join(line.rstrip() for line in page.getvalue().splitlines()) + "\n"
