"""The curve as SVG in which every value leads to its line; once wide, once for a phone."""

from __future__ import annotations

import math
from collections.abc import Callable
from urllib.parse import quote
from xml.etree.ElementTree import Element, SubElement, tostring

from markupsafe import Markup

from fieldvoice.desk.found.vacuum import Overlaid, Read
from fieldvoice.quantity.counted import counted
from fieldvoice.quantity.units import shown
from fieldvoice.review.vacuum import level_ticks, time_ticks

WIDE, PHONE = (880, 380), (360, 320)
_LEFT, _RIGHT, _TOP, _BOTTOM = 56, 14, 34, 40
Places = Callable[[float, float], tuple[float, float]]


def drawing(found: Overlaid, job: str, size: tuple[int, int]) -> Markup:
    """One SVG element of that size; `job`: its name, for the addresses of lines."""
    width, height = size
    about = (f"Vacuum against time, {counted(len(found.reads), 'value')}, "
             f"{counted(len(found.visits), 'earlier visit')}; "
             "the table below has the same")
    svg = Element("svg", {"class": f"curve {'wide' if size == WIDE else 'phone'}",
                          "viewBox": f"0 0 {width} {height}", "role": "group",
                          "aria-label": about})
    at = _places(found, size)
    for part in (_holds, _grid, _limits):
        svg.extend(part(found, at, size))
    for number, visit in enumerate(found.visits, start=1):
        _joined(svg, visit.reads, at, f"visit visit-{number}")
    _joined(svg, [read for read in found.reads if read.counts], at, "run")
    for read in found.linked:
        svg.append(_point(read, at, job))
    return Markup(tostring(svg, encoding="unicode"))  # written as XML: all text is escaped


def _places(found: Overlaid, size: tuple[int, int]) -> Places:
    curve, (width, height) = found.curve, size
    low, high = math.log10(curve.low), math.log10(curve.high)
    right, bottom = width - _RIGHT, height - _BOTTOM

    def at(minute: float, level: float) -> tuple[float, float]:
        share = (minute - curve.first) / max(curve.last - curve.first, 1e-9)
        height = (math.log10(level) - low) / max(high - low, 1e-9)
        return _LEFT + 8 + share * (right - _LEFT - 16), bottom - height * (bottom - _TOP)

    return at


def _text(x: float, y: float, text: str, css: str, anchor: str = "start") -> Element:
    found = Element("text", {"x": f"{x:.1f}", "y": f"{y:.1f}", "class": css,
                             "text-anchor": anchor})
    found.text = text
    return found


def _line(x1: float, y1: float, x2: float, y2: float, css: str) -> Element:
    return Element("line", {"x1": f"{x1:.1f}", "y1": f"{y1:.1f}", "x2": f"{x2:.1f}",
                            "y2": f"{y2:.1f}", "class": css})


def _grid(found: Overlaid, at: Places, size: tuple[int, int]) -> list[Element]:
    curve, (width, height) = found.curve, size
    right, bottom, parts = width - _RIGHT, height - _BOTTOM, []
    for level in level_ticks(curve.low, curve.high):
        y = at(curve.first, level)[1]
        parts += [_line(_LEFT, y, right, y, "grid"),
                  _text(_LEFT - 6, y + 4, shown(level), "dim", "end")]
    for minute, clock in time_ticks(curve, 8 if size == WIDE else 3):
        x = at(minute, curve.low)[0]
        parts += [_line(x, bottom, x, bottom + 4, "grid"),
                  _text(x, bottom + 17, clock, "dim", "middle")]
    parts.append(_text(4, 16, "microns", "dim"))
    return [*parts, _text(right, height - 6, "time of day", "dim", "end")]


def _holds(found: Overlaid, at: Places, size: tuple[int, int]) -> list[Element]:
    curve, parts = found.curve, []
    for hold in curve.holds:
        (left, top), (right, bottom) = at(hold.start, curve.high), at(hold.end, curve.low)
        parts.append(Element("rect", {
            "x": f"{left:.1f}", "y": f"{top:.1f}", "width": f"{max(right - left, 2):.1f}",
            "height": f"{max(bottom - top, 1):.1f}", "class": "hold"}))
        if size == WIDE:  # the phone has them in the list below
            middle = min(max((left + right) / 2, _LEFT + 70), size[0] - _RIGHT - 70)
            parts.append(_text(middle, _TOP - 8, hold.words, "strong", "middle"))
    return parts


def _limits(found: Overlaid, at: Places, size: tuple[int, int]) -> list[Element]:
    parts = []
    for limit in found.curve.limits:
        y = at(0.0, limit.microns)[1]
        parts += [_line(_LEFT, y, size[0] - _RIGHT, y, "limit"),
                  _text(size[0] - _RIGHT - 4, y - 5, limit.text, "limit-text", "end")]
    return parts


def _joined(svg: Element, reads: list[Read] | tuple[Read, ...], at: Places, css: str) -> None:
    places = (at(read.minute, read.level) for read in reads)
    SubElement(svg, "polyline", {
        "class": css, "points": " ".join(f"{x:.1f},{y:.1f}" for x, y in places)})


def _point(read: Read, at: Places, job: str) -> Element:
    x, y = at(read.minute, read.level)
    css = "dot" if read.counts else "dot gone"
    circle = Element("circle", {"cx": f"{x:.1f}", "cy": f"{y:.1f}", "r": "5", "class": css})
    if read.line is None:
        return circle
    words = f"{read.words} at {read.at:%H:%M}{f', {read.how}' if read.how else ''}"
    link = Element("a", {"href": f"/job/{quote(job, safe='')}/line/{read.line}",
                         "aria-label": f"{words}: line {read.line}"})
    SubElement(link, "title").text = words
    link.append(circle)
    return link
