"""The vacuum curve in characters, for a terminal."""

from __future__ import annotations

import math
from collections.abc import Iterable

from fieldvoice.jobstate.state import JobState
from fieldvoice.quantity.units import shown
from fieldvoice.review.vacuum import VacuumCurve, level_ticks, time_ticks, vacuum_curve

_GUTTER = 9  # columns for the level's figures
_NOTHING = "No vacuum has been read yet."


def text_curve(
    state: JobState, width: int = 72, height: int = 18,
    limits_pa: Iterable[tuple[str, float]] = (),
) -> str:
    """Draw vacuum against time in `height` lines of at most `width` columns.

    o reading, x reading corrected or withdrawn, : hold, - limit. Raises ValueError below 40 by 8.
    """
    if width < 40 or height < 8:
        raise ValueError(f"a curve of {width} by {height} characters: give at least 40 by 8")
    curve = vacuum_curve(state, limits_pa)
    if curve is None:
        return _NOTHING
    plot = _Plot(curve, width - _GUTTER - 1, height - 4)
    plot.draw()
    return "\n".join(line.rstrip() for line in (*_head(plot, width), *plot.rows(), *_foot(plot)))


class _Plot:
    """A sheet of characters with places for minutes and microns."""

    def __init__(self, curve: VacuumCurve, columns: int, lines: int) -> None:
        self.curve, self.columns, self.lines = curve, columns, lines
        self.sheet = [[" "] * columns for _ in range(lines)]

    def column(self, minute: float) -> int:
        share = (minute - self.curve.first) / (self.curve.last - self.curve.first)
        return min(max(round(share * (self.columns - 1)), 0), self.columns - 1)

    def line(self, level: float) -> int:
        low, high = math.log10(self.curve.low), math.log10(self.curve.high)
        share = (math.log10(level) - low) / (high - low)
        return min(max(round((1 - share) * (self.lines - 1)), 0), self.lines - 1)

    def draw(self) -> None:
        for hold in self.curve.holds:
            for column in range(self.column(hold.start), self.column(hold.end) + 1):
                for row in self.sheet:
                    row[column] = ":"
        for limit in self.curve.limits:
            self.sheet[self.line(limit.microns)] = ["-"] * self.columns
        for mark, points in (("x", self.curve.struck), ("o", self.curve.points)):
            for point in points:
                self.sheet[self.line(point.microns)][self.column(point.minute)] = mark

    def rows(self) -> list[str]:
        """The sheet with its levels on the left."""
        ticks = level_ticks(self.curve.low, self.curve.high)
        names = {self.line(level): shown(level) for level in reversed(ticks)}
        names |= {self.line(limit.microns): shown(limit.microns) for limit in self.curve.limits}
        return [f"{names.get(n, ''):>{_GUTTER - 1}} |{''.join(row)}"
                for n, row in enumerate(self.sheet)]


def _head(plot: _Plot, width: int) -> list[str]:
    verdicts = "; ".join(hold.words for hold in plot.curve.holds)
    limits = "; ".join(limit.text for limit in plot.curve.limits)
    title = "  ".join(part for part in ("microns", verdicts, limits) if part)
    return [title if len(title) <= width else title[: width - 1] + "…"]


def _foot(plot: _Plot) -> list[str]:
    ruler, clocks = ["-"] * plot.columns, [" "] * (plot.columns + 3)
    free = -1  # the first column that no label covers
    for minute, clock in time_ticks(plot.curve, max(plot.columns // 10, 2)):
        column = plot.column(minute)
        ruler[column] = "+"
        start = min(max(column - 2, 0), len(clocks) - 5)
        if start > free:
            clocks[start : start + 5] = clock
            free = start + 5
    margin = " " * (_GUTTER - 1)
    legend = "o reading   x corrected or withdrawn   : hold   - limit"
    return [f"{margin} +{''.join(ruler)}", f"{margin}  {''.join(clocks)}", f"{margin}  {legend}"]
