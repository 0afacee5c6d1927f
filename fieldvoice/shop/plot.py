"""A figure of the shop as a drawing (SVG): a bar for each row, with a mark where it ends up."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from fieldvoice.shop.ask import ShopError, Table

WIDTH, LEFT, RIGHT, ROW_HEIGHT = 900, 260, 190, 26  # of the drawing, in its units
MOST = 60  # rows that are drawn
_LONGEST = 32  # letters of a label

Row = Mapping[str, Any]


@dataclass(frozen=True)
class Bar:
    """One row: from `low` to `high`, marked at `mark`."""

    label: str
    low: float
    high: float
    mark: float
    note: str


def _hold(row: Row) -> Bar:
    first, last = row["first_microns"], row["last_microns"]
    return Bar(f"{row['moment']:%m-%d} {row['job']}", min(first, last), max(first, last), last,
               f"{row['verdict']}, {last:g} microns")


def _stage(row: Row) -> Bar:
    median = row["median_minutes"]
    return Bar(row["stage"], row["lower_quartile_minutes"], row["upper_quartile_minutes"], median,
               f"median {median:g} min, {row['jobs']} jobs")


def _asked(row: Row) -> Bar:
    percent = row["percent_asked_back"]
    return Bar(row["background"], 0, percent, percent, f"{percent:g} % of {row['readings']}")


def _corrected(row: Row) -> Bar:
    return Bar(row["heard"], 0, row["times"], row["times"],
               f"{row['times']} times, {row['corrected_to']}")


_DRAWN: dict[str, tuple[str, str, Callable[[Row], Bar]]] = {  # figure -> title, what must be known
    "vacuum": ("Standing-vacuum tests, first to last reading in microns", "last_microns", _hold),
    "stages": ("Time in each stage in minutes, lower to upper quartile", "median_minutes", _stage),
    "asked-back": ("Spoken readings asked back, in percent, by loudness of the background",
                   "percent_asked_back", _asked),
    "corrected": ("What was heard for readings that were corrected, times", "times", _corrected),
}
DRAWN = tuple(_DRAWN)


def svg(table: Table) -> str:
    """The drawing of a figure's rows, at most MOST. Raises ShopError for one that has none."""
    if table.name not in _DRAWN:
        raise ShopError(f"{table.name} has no drawing; there is one of {', '.join(DRAWN)}")
    title, needed, bar_of = _DRAWN[table.name]
    rows = [dict(zip(table.columns, row, strict=True)) for row in table.rows]
    bars = [bar_of(row) for row in rows if row[needed] is not None]
    left_out = len(bars) - MOST
    if left_out > 0 and table.name == "vacuum":  # in order of time: the newest are looked for
        title, bars = f"{title} ({left_out} earlier ones not drawn)", bars[-MOST:]
    elif left_out > 0:
        title, bars = f"{title} ({left_out} rows more not drawn)", bars[:MOST]
    return _drawn(title, bars)


def _drawn(title: str, bars: list[Bar]) -> str:
    most = max((bar.high for bar in bars), default=0) or 1.0
    scale = (WIDTH - LEFT - RIGHT) / most

    def x(value: float) -> float:
        return round(LEFT + value * scale, 1)

    page = Environment(loader=PackageLoader("fieldvoice.shop", "."), autoescape=True,
                       undefined=StrictUndefined).get_template("bars.svg.j2")
    return page.render(
        title=title, width=WIDTH, left=LEFT, height=50 + ROW_HEIGHT * len(bars) + 40,
        ticks=[{"x": x(tick), "text": f"{tick:.4g}"} for tick in _ticks(most)],
        bars=[{"label": _short(bar.label), "x": x(bar.low), "mark": x(bar.mark),
               "length": max(1.0, round((bar.high - bar.low) * scale, 1)), "note": bar.note,
               "after": x(bar.high) + 8, "y": 46 + ROW_HEIGHT * n} for n, bar in enumerate(bars)])


def _ticks(most: float) -> list[float]:
    """Round values from 0 to `most`, some five of them."""
    power = 10.0 ** math.floor(math.log10(most / 5))
    step = next(power * part for part in (1, 2, 5, 10) if most <= power * part * 5 * 1.0001)
    return [step * n for n in range(int(most / step * 1.0001) + 1)]


def _short(text: str) -> str:
    return text if len(text) <= _LONGEST else f"{text[:_LONGEST - 1]}…"
