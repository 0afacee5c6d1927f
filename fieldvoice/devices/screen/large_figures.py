"""The figures at the foot of the screen: as large as the screen allows, and never cut."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from fieldvoice.devices.screen.bigtype import big
from fieldvoice.devices.screen.view import View, clock_face

_MARGIN, _BETWEEN, _TIGHT = 2, 6, 2  # columns of the terminal


def figure_lines(view: View, width: int, height: int) -> list[str]:
    """The last value and what is left of the timers, in the largest form that fits.

    Side by side, one above the other, then the countdown alone large with the value beside it in
    plain; where none of these fits plain lines, which may be more than `height` but hide nothing.
    """
    for drawn in _forms(view):
        if len(drawn) <= height and all(len(line) <= width for line in drawn):
            return drawn
    plain = [*_in_plain(view), clock_line(view.timers)]
    return [line for text in plain for line in textwrap.wrap(text, max(width, 1))]


def _forms(view: View) -> Iterator[list[str]]:
    """From the largest down; each has every figure in it."""
    soonest = sorted(view.timers, key=lambda timer: timer[1])
    others = [clock_line(soonest[1:])] if soonest[1:] else []
    for space, between in ((2, _BETWEEN), (1, _TIGHT)):
        value = _drawn(view.figure_label, view.figure, space)
        left = [part for label, seconds in soonest[:1]
                for part in _drawn(f"{label}: left", clock_face(seconds), space)]
        if value and left:
            yield ["", *_indented(_beside(value, left, between)), *others]
        elif value or left:
            yield ["", *_indented(value or left), *others]
    if value and left:
        yield ["", *_indented(value), "", *_indented(left), *others]
        yield ["", *_indented(_in_plain(view)), "", *_indented(left), *others]


def _drawn(label: str, figures: str, space: int) -> list[str]:
    return [label, "", *big(figures, space)] if figures else []


def _beside(left: list[str], right: list[str], between: int) -> list[str]:
    wide = max(map(len, left)) + between
    return [f"{a:<{wide}}{b}" for a, b in zip(left, right, strict=True)]


def _indented(lines: list[str]) -> list[str]:
    return [f"{'':{_MARGIN}}{line}".rstrip() for line in lines]


def _in_plain(view: View) -> list[str]:
    return [f"{view.figure_label}: {view.figure}"] if view.figure else []


def clock_line(timers: Sequence[tuple[str, float]]) -> str:
    """All timers on one line, the one that ends first in front."""
    ordered = sorted(timers, key=lambda timer: timer[1])
    return "   ".join(f"{label} {clock_face(left)} left" for label, left in ordered)
