"""The last value and the countdown: as large as the room allows, and never cut."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial

from fieldvoice.devices.screen.bigtype import big, half
from fieldvoice.devices.screen.cells import cells, wrapped
from fieldvoice.devices.screen.view import View, clock_face

_MARGIN, _BETWEEN, _TIGHT = 2, 6, 2  # columns of the terminal
_FIGURES = frozenset("0123456789-.: ")

Draw = Callable[[str], list[str]]


def figure_lines(
    view: View, width: int, height: int, *, largest: int = 3, plain: bool = False
) -> list[str]:
    """The last value and what is left of the timers, in the largest form that fits.

    Side by side, one above the other, then the countdown alone large with the value beside it in
    plain; where none of these fits plain lines, which may be more than `height` but hide nothing.
    `largest`: how many times five lines high they may be; `plain`: without block characters.
    """
    for drawn in _forms(view, largest, "#" if plain else "█"):
        if len(drawn) <= height and all(cells(line) <= width for line in drawn):
            return drawn
    return plain_figures(view, width)


def plain_figures(view: View, width: int) -> list[str]:
    """The same in ordinary type."""
    texts = [*_in_plain(view), clock_line(view.timers, view.hold)]
    return [line for text in texts if text for line in _kept_whole(text, width)]


def _kept_whole(text: str, width: int) -> list[str]:
    """Wrapped between what each timer says, and a figure never broken."""
    lines: list[str] = []
    for part in text.split("   "):
        if lines and cells(lines[-1]) + 3 + cells(part) <= width:
            lines[-1] += f"   {part}"
        else:
            lines += wrapped(part, width)
    return lines


def _forms(view: View, largest: int, ink: str) -> Iterator[list[str]]:
    """From the largest down; each has every figure in it."""
    if set(view.figure) - _FIGURES:
        return
    for scale in range(largest, 0, -1):
        wide = partial(big, scale=scale, ink=ink)
        tight = partial(wide, space=1)
        yield from _one(view, wide, scale * _BETWEEN, beside=True)
        yield from _one(view, tight, scale * _TIGHT, beside=True)
        yield from _one(view, wide, 0, beside=False)
    if ink != "#":
        yield from _one(view, half, _BETWEEN, beside=True)
        yield from _one(view, half, _TIGHT, beside=True)
    yield from _one(view, wide, 0, beside=False, value_large=False)
    if ink != "#":
        yield from _one(view, half, 0, beside=False, value_large=False)


def _one(
    view: View, draw: Draw, between: int, *, beside: bool, value_large: bool = True
) -> Iterator[list[str]]:
    large, rest = _large_timer(view)
    others = [clock_line(rest)] if rest else []
    value = _drawn(view.figure_label, view.figure, draw)
    left = _drawn(f"{large[0]}: left", clock_face(large[1]), draw) if large else []
    if not value or not left:
        if value_large and (value or left):
            yield [*_indented(value or left), *others]
    elif beside:
        yield [*_indented(_beside(value, left, between)), *others]
    elif value_large:
        yield [*_indented(value), "", *_indented(left), *others]
    else:
        yield [*_indented(_in_plain(view)), *_indented(left), *others]


def _large_timer(view: View) -> tuple[tuple[str, int] | None, list[tuple[str, int]]]:
    """The timer that is drawn large, and the others."""
    ordered = sorted(view.timers, key=lambda timer: (timer[0] != view.hold, timer[1]))
    return (ordered[0], ordered[1:]) if ordered else (None, [])


def _drawn(label: str, figures: str, draw: Draw) -> list[str]:
    return [label, *draw(figures)] if figures else []


def _beside(left: list[str], right: list[str], between: int) -> list[str]:
    wide = max(map(cells, left)) + between
    return [f"{a}{' ' * (wide - cells(a))}{b}" for a, b in zip(left, right, strict=True)]


def _indented(lines: list[str]) -> list[str]:
    return [f"{'':{_MARGIN}}{line}".rstrip() for line in lines]


def _in_plain(view: View) -> list[str]:
    return [f"{view.figure_label}: {view.figure}"] if view.figure else []


def clock_line(timers: Sequence[tuple[str, float]], first: str = "") -> str:
    """All timers on one line, the one called `first` in front, then those that end first."""
    ordered = sorted(timers, key=lambda timer: (timer[0] != first, timer[1]))
    return "   ".join(f"{label} {clock_face(left)} left" for label, left in ordered)
