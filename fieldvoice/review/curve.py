"""The vacuum curve as SVG: log scale, holds shaded, fits with their band, limits, breaks."""

from __future__ import annotations

import math
from bisect import bisect, bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from xml.etree.ElementTree import Element, SubElement, tostring

from markupsafe import Markup

from fieldvoice.jobstate.state import JobState
from fieldvoice.jobstate.timers import say_duration
from fieldvoice.quantity.constants import PA_PER_MICRON
from fieldvoice.quantity.counted import counted
from fieldvoice.quantity.units import shown
from fieldvoice.review.vacuum import (
    Break,
    Point,
    VacuumCurve,
    level_ticks,
    time_ticks,
    vacuum_curve,
)


@dataclass(frozen=True)
class Sheet:
    """A size to draw for; its text stays at 13 units, whatever the width."""

    name: str  # class of the drawing
    width: int
    height: int
    right: int  # margin, for the second scale; too narrow for one below 40
    times: int  # labels of the time axis, at most
    values: int  # readings up to which each is labelled; beyond, only the telling ones


WIDE = Sheet("wide", 760, 360, 62, 9, 16)
NARROW = Sheet("narrow", 380, 400, 14, 4, 6)  # a phone's, held upright
_LEFT, _TOP, _BOTTOM = 62, 44, 46
_MOST_TRIED = 200  # labels looked for room for; a drawing has none for more

# Colours come from the page; the second value serves where the drawing stands alone.
STYLE = """
.vc text{font:13px system-ui,sans-serif;fill:var(--ink,#1c2530);
  stroke:var(--paper,#fff);stroke-width:3px;paint-order:stroke;stroke-linejoin:round}
.vc .dim{fill:var(--dim,#5b6670)} .vc .grid{stroke:var(--line,#d5dade);stroke-width:1}
.vc .hold{fill:var(--shade,#e9eef2)} .vc .edge{stroke:var(--dim,#5b6670);stroke-width:1}
.vc .limit{stroke:var(--warn,#a4480c);stroke-width:1.5;stroke-dasharray:7 4}
.vc .limit-text{fill:var(--warn,#a4480c)}
.vc .curve{fill:none;stroke:var(--mark,#14507a);stroke-width:2;stroke-linejoin:round}
.vc .dot{fill:var(--mark,#14507a)}
.vc .struck{fill:var(--paper,#fff);stroke:var(--dim,#5b6670);stroke-width:1.3}
.vc .struck-text{stroke:none;fill:var(--dim,#5b6670);text-decoration:line-through}
.vc .band{fill:var(--warn,#a4480c);opacity:.22;stroke:none}
.vc .fit{fill:none;stroke:var(--warn,#a4480c);stroke-width:1.6}
.vc .break{fill:var(--paper,#fff);stroke:none}
.vc .break-edge{fill:none;stroke:var(--dim,#5b6670);stroke-width:1.4;stroke-dasharray:2 3}
.vc .verdict{font-weight:600}
"""


def curve_svg(
    state: JobState, limits_pa: Iterable[tuple[str, float]] = (), breaks: Sequence[Break] = (),
    sheet: Sheet = WIDE,
) -> Markup:
    """Draw vacuum against time as one SVG element; "" when no vacuum was read.

    `limits_pa`: further (label, absolute Pa) to draw beside those the verdicts were judged by.
    Readings that were corrected or withdrawn are shown hollow with their value struck through.
    Long `breaks` are drawn short.
    """
    curve = vacuum_curve(state, limits_pa, breaks)
    return Markup() if curve is None else drawn(curve, sheet)


def drawn(curve: VacuumCurve, sheet: Sheet = WIDE) -> Markup:
    """The SVG of a curve, for a sheet."""
    canvas = _Canvas(curve, sheet)
    about = (f"Vacuum against time, {counted(len(curve.points), 'reading')}, "
             f"{counted(len(curve.holds), 'hold')}")
    svg = Element("svg", {
        "class": f"vc {sheet.name}", "xmlns": "http://www.w3.org/2000/svg",
        "viewBox": f"0 0 {sheet.width} {sheet.height}", "role": "img", "aria-label": about,
    })
    SubElement(svg, "title").text = about
    SubElement(svg, "style").text = STYLE
    for draw in (_grid, _holds, _breaks, _limits, _fits, _lines, _struck, _labels):
        svg.extend(draw(canvas))
    return Markup(tostring(svg, encoding="unicode"))  # written as XML: all text is escaped


class _Canvas:
    """Places of minutes and microns on the drawing."""

    def __init__(self, curve: VacuumCurve, sheet: Sheet) -> None:
        self.curve, self.sheet, self.axis = curve, sheet, curve.axis
        self.low, self.high = math.log10(curve.low), math.log10(curve.high)
        self.bottom, self.right = sheet.height - _BOTTOM, sheet.width - sheet.right

    def x(self, minute: float) -> float:
        margin = 14  # so that the first and last reading stand clear of the frame
        return _LEFT + margin + self.axis.place(minute) * (self.right - _LEFT - 2 * margin)

    def y(self, level: float) -> float:
        share = (math.log10(level) - self.low) / (self.high - self.low)
        return self.bottom - share * (self.bottom - _TOP)

    def free_middle(self, wanted: float, width: float) -> float:
        """Where a centred text of that width stays on the drawing."""
        half = width / 2
        return min(max(wanted, half + 2), self.sheet.width - half - 2)


def _shape(tag: str, css: str, **places: float) -> Element:
    return Element(tag, {"class": css} | {name: f"{at:.1f}" for name, at in places.items()})


def _text(x: float, y: float, text: str, css: str = "", anchor: str = "start") -> Element:
    found = _shape("text", css, x=x, y=y)
    found.set("text-anchor", anchor)
    found.text = text
    return found


def _line(x1: float, y1: float, x2: float, y2: float, css: str) -> Element:
    return _shape("line", css, x1=x1, y1=y1, x2=x2, y2=y2)


def _grid(c: _Canvas) -> list[Element]:
    parts, pascals = [], c.sheet.right >= 40
    for level in level_ticks(c.curve.low, c.curve.high):
        y = c.y(level)
        parts.append(_line(_LEFT, y, c.right, y, "grid"))
        parts.append(_text(_LEFT - 7, y + 4, shown(level), anchor="end"))
        if pascals:
            parts.append(_text(c.right + 7, y + 4, _pascals(level), "dim"))
    parts += _clock(c)
    parts.append(_line(_LEFT, c.bottom, c.right, c.bottom, "edge"))
    parts.append(_text(_LEFT - 7, _TOP - 22, "microns", anchor="end"))
    if pascals:
        parts.append(_text(c.right + 7, _TOP - 22, "Pa", "dim"))
    parts.append(_text((_LEFT + c.right) / 2, c.sheet.height - 8, "time of day", "dim", "middle"))
    return parts


def _clock(c: _Canvas) -> list[Element]:
    """Times of day below, as many as have room."""
    parts, free = [], -math.inf
    for minute, clock in time_ticks(c.curve, c.sheet.times):
        x = c.x(minute)
        parts.append(_line(x, c.bottom, x, c.bottom + 5, "edge"))
        if x - 20 > free:
            parts.append(_text(x, c.bottom + 19, clock, anchor="middle"))
            free = x + 20
    return parts


def _breaks(c: _Canvas) -> list[Element]:
    """A gap between dotted edges, with how long nobody worked."""
    parts = []
    for begin, end in c.curve.breaks:
        if end <= c.curve.first or begin >= c.curve.last:
            continue
        left, right = c.x(max(begin, c.curve.first)), c.x(min(end, c.curve.last))
        parts.append(_shape("rect", "break", x=left, y=_TOP, width=max(right - left, 1.0),
                            height=c.bottom - _TOP))
        parts += [_line(x, _TOP, x, c.bottom, "break-edge") for x in (left, right)]
        words = f"break {say_duration(timedelta(minutes=end - begin))}"
        place = _text((left + right) / 2 + 5, c.bottom - 10, words, "dim")
        place.set("transform", f"rotate(-90 {(left + right) / 2 + 5:.1f} {c.bottom - 10:.1f})")
        parts.append(place)
    return parts


def _fits(c: _Canvas) -> list[Element]:
    """The fitted line of each hold over its band."""
    parts = []
    for hold in c.curve.holds:
        if hold.fit:
            upper = [_at(c, p.minute, p.high) for p in hold.fit]
            lower = [_at(c, p.minute, p.low) for p in reversed(hold.fit)]
            parts.append(Element("polygon", {"class": "band", "points": " ".join(upper + lower)}))
            line = " ".join(_at(c, p.minute, p.middle) for p in hold.fit)
            parts.append(Element("polyline", {"class": "fit", "points": line}))
    return parts


def _at(c: _Canvas, minute: float, level: float) -> str:
    """A corner of a line, kept within the drawing."""
    return f"{c.x(minute):.1f},{c.y(min(max(level, c.curve.low), c.curve.high)):.1f}"


def _pascals(level: float) -> str:
    return f"{level * PA_PER_MICRON:,.3g}" if level < 7500 else shown(
        float(f"{level * PA_PER_MICRON:.2g}"))


def _holds(c: _Canvas) -> list[Element]:
    """Each hold shaded, its words above in the first of two rows that has room."""
    parts, taken = [], [-math.inf, -math.inf]
    for hold in c.curve.holds:
        left, right = c.x(hold.start), c.x(hold.end)
        width, height = max(right - left, 2.0), c.bottom - _TOP
        parts.append(_shape("rect", "hold", x=left, y=_TOP, width=width, height=height))
        parts += [_line(x, _TOP, x, c.bottom, "grid") for x in (left, left + width)]
        length = 7.2 * len(hold.words)
        middle = c.free_middle(left + width / 2, length)
        row = next((n for n in (0, 1) if taken[n] < middle - length / 2), 1)
        taken[row] = middle + length / 2 + 6
        parts.append(_text(middle, _TOP - 7 - 16 * row, hold.words, "verdict", "middle"))
    return parts


def _limits(c: _Canvas) -> list[Element]:
    """Dashed lines, labelled above, or below where the next line lies close above."""
    parts: list[Element] = []
    places = [c.y(limit.microns) for limit in c.curve.limits]  # from the bottom up
    next_up = [*places, -math.inf][1:]
    for limit, y, above in zip(c.curve.limits, places, next_up, strict=True):
        parts.append(_line(_LEFT, y, c.right, y, "limit"))
        place = y + (15 if y - above < 20 else -5)
        x, anchor = _free_place(c, place, 7.0 * len(limit.text))
        parts.append(_text(x, place, limit.text, "limit-text", anchor))
    return parts


def _free_place(c: _Canvas, y: float, width: float) -> tuple[float, str]:
    """Where a label of that width hides the fewest readings: left, in the middle, or right."""
    middle = (_LEFT + c.right) / 2
    places = ((_LEFT + 6, "start", _LEFT + 6 + width / 2), (middle, "middle", middle),
              (c.right - 6, "end", c.right - 6 - width / 2))  # fmt: skip

    def hidden(centre: float) -> int:
        near = (p for p in c.curve.points if abs(c.x(p.minute) - centre) < width / 2 + 20)
        return sum(abs(c.y(p.microns) - y) <= 18 for p in near)

    x, anchor, _ = min(places, key=lambda place: hidden(place[2]))
    return x, anchor


def _lines(c: _Canvas) -> list[Element]:
    runs: dict[int, list[Point]] = {}
    for point in c.curve.points:
        runs.setdefault(point.run, []).append(point)
    parts = []
    for points in runs.values():
        places = " ".join(f"{c.x(p.minute):.1f},{c.y(p.microns):.1f}" for p in points)
        parts.append(Element("polyline", {"class": "curve", "points": places}))
    radius = 3.5 if len(c.curve.points) <= 120 else 1.5
    parts += [_shape("circle", "dot", cx=c.x(p.minute), cy=c.y(p.microns), r=radius)
              for p in c.curve.points]
    return parts


def _struck(c: _Canvas) -> list[Element]:
    parts = []
    for point in c.curve.struck:
        x, y = c.x(point.minute), c.y(point.microns)
        parts.append(_shape("circle", "struck", cx=x, cy=y, r=4))
        parts.append(_line(x - 7, y + 5, x + 7, y - 5, "edge"))
        parts.append(_beside(c, x, y + 4, point.text, "struck-text"))
    return parts


def _beside(c: _Canvas, x: float, y: float, text: str, css: str) -> Element:
    left = x > c.right - 70
    return _text(x - 11 if left else x + 11, y, text, css, "end" if left else "start")


def _labels(c: _Canvas) -> list[Element]:
    """Values beside the readings, as many as have room."""
    points = _worth_labels(c.curve, c.sheet.values)
    parts: list[Element] = []
    taken: list[tuple[float, float]] = []
    for point in points[:_MOST_TRIED]:
        x, y = c.x(point.minute), c.y(point.microns)
        place = next((dy for dy in (-9.0, 19.0) if _free(taken, x, y + dy)), None)
        if place is not None:
            taken.append((x, y + place))
            parts.append(_text(x, y + place, point.text, anchor="middle"))
    return parts


def _worth_labels(curve: VacuumCurve, most: int) -> list[Point]:
    """First, lowest and last reading, ends of holds; and all the others unless they are many."""
    points = list(curve.points)
    minutes = [p.minute for p in points]
    within = [
        points[bisect_left(minutes, h.start) : bisect(minutes, h.end + 0.5)] for h in curve.holds
    ]
    ends = [p for inside in within for p in (inside[:1] + inside[-1:])]
    first = [*points[:1], *points[-1:], *ends]
    if points:
        first.append(min(points, key=lambda p: p.microns))
    held = {p for inside in within for p in inside}
    others = [p for p in points if p not in held]
    return list(dict.fromkeys(first + (others if len(others) <= most else [])))


def _free(taken: list[tuple[float, float]], x: float, y: float) -> bool:
    return all(abs(x - a) > 38 or abs(y - b) > 13 for a, b in taken)
