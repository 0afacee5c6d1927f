"""A small plot in characters: readings, limits and a fitted curve on a logarithmic scale."""

from __future__ import annotations

import math

from fieldvoice.devices.screen.cells import Row, cells, cut, joined
from fieldvoice.devices.screen.view import Plot

LEAST_WIDTH, LEAST_HEIGHT = 28, 6
_DOTS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))  # of a braille cell, row by row
_NEVER_FINER = 1.2  # the scale spans at least this ratio
Sheet = list[list[tuple[str, str]]]


def plot_rows(plot: Plot, width: int, height: int, *, plain: bool = False) -> list[Row]:
    """The plot in exactly `height` lines of at most `width` columns; none where it is too small.

    A reading is a disc (o), a limit a line with its value at the left, the curve is dotted.
    `plain`: of ASCII characters alone.
    """
    if width < LEAST_WIDTH or height < LEAST_HEIGHT or not plot.points:
        return []
    return _Drawing(plot, width, height - 2, plain).rows(width)


class _Drawing:
    """A sheet of characters with places for minutes and levels."""

    def __init__(self, plot: Plot, width: int, lines: int, plain: bool) -> None:
        self.plot, self.lines, self.plain = plot, lines, plain
        levels = [level for _, level in (*plot.points, *plot.fit)]
        levels += [level for level, _ in plot.limits]
        middle = math.sqrt(min(levels) * max(levels))
        self.low = math.log10(min(min(levels) / 1.05, middle / _NEVER_FINER))
        self.high = math.log10(max(max(levels) * 1.05, middle * _NEVER_FINER))
        minutes = [m for m, _ in (*plot.points, *plot.fit, *plot.ticks)]
        self.first, self.last = min(minutes), max(*minutes, min(minutes) + 1.0)
        self.names = self._names()
        self.gutter = max(map(len, self.names.values()))
        self.columns = width - self.gutter - 1
        self.sheet: Sheet = [[(" ", "")] * self.columns for _ in range(lines)]

    def _names(self) -> dict[int, str]:
        """What the level axis says, by line; a limit before the ends of the scale."""
        found = {0: _round(10**self.high), self.lines - 1: _round(10**self.low)}
        for level, _ in self.plot.limits:
            line = round(self._share(level) * (self.lines - 1))
            found = {n: name for n, name in found.items() if n != line} | {line: _figure(level)}
        return found

    def _share(self, level: float) -> float:
        """From 0 at the top to 1 at the foot."""
        return (self.high - math.log10(level)) / (self.high - self.low)

    def _across(self, minute: float) -> float:
        return (minute - self.first) / (self.last - self.first)

    def _draw_limits(self) -> None:
        for level, told in self.plot.limits:
            line = self.sheet[round(self._share(level) * (self.lines - 1))]
            line[:] = [("-" if self.plain else "─", "limit")] * self.columns
            label = f" {cut(told, self.columns - 4)} "
            start = 1 if self._taken(level) else self.columns - cells(label) - 1
            line[start : start + len(label)] = [(character, "limit") for character in label]

    def _taken(self, level: float) -> bool:
        """Whether readings or curve lie near a level in the right half."""
        near = 1.5 / self.lines
        return any(self._across(m) > 0.5 and abs(self._share(at) - self._share(level)) < near
                   for m, at in (*self.plot.points, *self.plot.fit))

    def _draw_fit(self) -> None:
        """Between its places in straight lines, which a logarithmic scale makes of a pull."""
        dots: dict[tuple[int, int], int] = {}
        across, down = 2 * self.columns - 1, 4 * self.lines - 1
        pairs = list(zip(self.plot.fit, self.plot.fit[1:], strict=False))
        for (m1, l1), (m2, l2) in pairs:
            steps = max(1, math.ceil(abs(self._across(m2) - self._across(m1)) * across))
            for share in (step / steps for step in range(steps + 1)):
                x = round(self._across(m1 + share * (m2 - m1)) * across)
                level = 10 ** ((1 - share) * math.log10(l1) + share * math.log10(l2))
                y = round(self._share(level) * down)
                place = (y // 4, x // 2)
                dots[place] = dots.get(place, 0) | _DOTS[y % 4][x % 2]
        for (line, column), dot in dots.items():
            self.sheet[line][column] = ("." if self.plain else chr(0x2800 + dot), "fit")

    def _draw_points(self) -> None:
        for minute, level in self.plot.points:
            column = round(self._across(minute) * (self.columns - 1))
            line = round(self._share(level) * (self.lines - 1))
            self.sheet[line][column] = ("o" if self.plain else "●", "figure")

    def rows(self, width: int) -> list[Row]:
        """The sheet with its axes."""
        self._draw_limits()
        self._draw_fit()
        self._draw_points()
        edge = "|" if self.plain else "│"
        body = [[(f"{self.names.get(n, ''):>{self.gutter}}{edge}", "dim"), *joined(line)]
                for n, line in enumerate(self.sheet)]
        told = self.plot.unit + (f"   {self.plot.told}" if self.plot.told else "")
        return [[(cut(told, width), "dim")], *body, [(self._clock_line(), "dim")]]

    def _clock_line(self) -> str:
        line = [" "] * (self.gutter + 1 + self.columns)
        free = 0
        for minute, name in self.plot.ticks:
            middle = self.gutter + 1 + round(self._across(minute) * (self.columns - 1))
            start = max(min(middle - len(name) // 2, len(line) - len(name)), 0)
            if start >= free:
                line[start : start + len(name)] = name
                free = start + len(name) + 1
        return "".join(line).rstrip()


def _round(level: float) -> str:
    """An end of the scale: two figures are enough."""
    places = max(0, math.floor(math.log10(level)) - 1)
    return _figure(round(level / 10**places) * 10**places)


def _figure(level: float) -> str:
    return f"{level:,.0f}" if level >= 10 else f"{level:.2g}"
