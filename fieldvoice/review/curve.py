"""The vacuum curve as SVG: log scale, holds shaded, limits dashed, verdicts named."""

from __future__ import annotations

import math
from bisect import bisect, bisect_left
from collections.abc import Iterable
from xml.etree.ElementTree import Element, SubElement, tostring

from markupsafe import Markup

from fieldvoice.jobstate.state import JobState
from fieldvoice.quantity.constants import PA_PER_MICRON
from fieldvoice.quantity.units import shown
from fieldvoice.review.vacuum import Point, VacuumCurve, level_ticks, time_ticks, vacuum_curve

WIDTH, HEIGHT = 880, 400
_LEFT, _RIGHT, _TOP, _BOTTOM = 70, 62, 40, 46
_MOST_LABELS = 16  # of single readings; beyond, only first, lowest and last are labelled
_MOST_TRIED = 200  # labels looked for room for; a drawing has none for more

# Colours come from the page; the second value serves where the drawing stands alone.
STYLE = """
.vc text{font:12px system-ui,sans-serif;fill:var(--ink,#1c2530);
  stroke:var(--paper,#fff);stroke-width:3px;paint-order:stroke;stroke-linejoin:round}
.vc .dim{fill:var(--dim,#5b6670)} .vc .grid{stroke:var(--line,#d5dade);stroke-width:1}
.vc .hold{fill:var(--shade,#e9eef2)} .vc .edge{stroke:var(--dim,#5b6670);stroke-width:1}
.vc .limit{stroke:var(--warn,#a4480c);stroke-width:1.5;stroke-dasharray:7 4}
.vc .limit-text{fill:var(--warn,#a4480c)}
.vc .curve{fill:none;stroke:var(--mark,#14507a);stroke-width:2;stroke-linejoin:round}
.vc .dot{fill:var(--mark,#14507a)}
.vc .struck{fill:var(--paper,#fff);stroke:var(--dim,#5b6670);stroke-width:1.3}
.vc .struck-text{stroke:none;fill:var(--dim,#5b6670);text-decoration:line-through}
.vc .verdict{font-weight:600;font-size:13px}
"""


def curve_svg(state: JobState, limits_pa: Iterable[tuple[str, float]] = ()) -> Markup:
    """Draw vacuum against time as one SVG element; "" when no vacuum was read.

    `limits_pa`: further (label, absolute Pa) to draw beside those the verdicts were judged by.
    Readings that were corrected or withdrawn are shown hollow with their value struck through.
    """
    curve = vacuum_curve(state, limits_pa)
    if curve is None:
        return Markup()
    canvas = _Canvas(curve)
    about = f"Vacuum against time, {len(curve.points)} readings, {len(curve.holds)} holds"
    svg = Element("svg", {
        "class": "vc", "xmlns": "http://www.w3.org/2000/svg", "viewBox": f"0 0 {WIDTH} {HEIGHT}",
        "role": "img", "aria-label": about,
    })
    SubElement(svg, "title").text = about
    SubElement(svg, "style").text = STYLE
    for draw in (_grid, _holds, _limits, _lines, _struck, _labels):
        svg.extend(draw(canvas))
    return Markup(tostring(svg, encoding="unicode"))  # written as XML: all text is escaped


class _Canvas:
    """Places of minutes and microns on the drawing."""

    def __init__(self, curve: VacuumCurve) -> None:
        self.curve = curve
        self.low, self.high = math.log10(curve.low), math.log10(curve.high)
        self.bottom, self.right = HEIGHT - _BOTTOM, WIDTH - _RIGHT

    def x(self, minute: float) -> float:
        margin = 14  # so that the first and last reading stand clear of the frame
        share = (minute - self.curve.first) / (self.curve.last - self.curve.first)
        return _LEFT + margin + share * (self.right - _LEFT - 2 * margin)

    def y(self, level: float) -> float:
        share = (math.log10(level) - self.low) / (self.high - self.low)
        return self.bottom - share * (self.bottom - _TOP)


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
    parts = []
    for level in level_ticks(c.curve.low, c.curve.high):
        y = c.y(level)
        parts.append(_line(_LEFT, y, c.right, y, "grid"))
        parts.append(_text(_LEFT - 7, y + 4, shown(level), anchor="end"))
        parts.append(_text(c.right + 7, y + 4, _pascals(level), "dim"))
    for minute, clock in time_ticks(c.curve, 9):
        x = c.x(minute)
        parts.append(_line(x, c.bottom, x, c.bottom + 5, "edge"))
        parts.append(_text(x, c.bottom + 19, clock, anchor="middle"))
    parts.append(_line(_LEFT, c.bottom, c.right, c.bottom, "edge"))
    parts.append(_text(_LEFT - 7, _TOP - 20, "microns", anchor="end"))
    parts.append(_text(c.right + 7, _TOP - 20, "Pa", "dim"))
    parts.append(_text((_LEFT + c.right) / 2, HEIGHT - 8, "time of day", "dim", "middle"))
    return parts


def _pascals(level: float) -> str:
    return f"{level * PA_PER_MICRON:,.3g}" if level < 7500 else shown(
        float(f"{level * PA_PER_MICRON:.2g}"))


def _holds(c: _Canvas) -> list[Element]:
    parts = []
    for hold in c.curve.holds:
        left, right = c.x(hold.start), c.x(hold.end)
        width, height = max(right - left, 2.0), c.bottom - _TOP
        parts.append(_shape("rect", "hold", x=left, y=_TOP, width=width, height=height))
        parts += [_line(x, _TOP, x, c.bottom, "grid") for x in (left, left + width)]
        middle = min(max(left + width / 2, _LEFT + 75), c.right - 75)
        parts.append(_text(middle, _TOP - 8, hold.words, "verdict", "middle"))
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
    points = _worth_labels(c.curve)
    parts: list[Element] = []
    taken: list[tuple[float, float]] = []
    for point in points[:_MOST_TRIED]:
        x, y = c.x(point.minute), c.y(point.microns)
        place = next((dy for dy in (-9.0, 19.0) if _free(taken, x, y + dy)), None)
        if place is not None:
            taken.append((x, y + place))
            parts.append(_text(x, y + place, point.text, anchor="middle"))
    return parts


def _worth_labels(curve: VacuumCurve) -> list[Point]:
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
    return list(dict.fromkeys(first + (others if len(others) <= _MOST_LABELS else [])))


def _free(taken: list[tuple[float, float]], x: float, y: float) -> bool:
    return all(abs(x - a) > 38 or abs(y - b) > 13 for a, b in taken)
