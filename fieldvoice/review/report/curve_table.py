"""The vacuum curve as a table, for who does not see the drawing."""

from __future__ import annotations

from datetime import timedelta

from fieldvoice.quantity.constants import PA_PER_MICRON
from fieldvoice.quantity.counted import counted
from fieldvoice.quantity.units import say
from fieldvoice.review.report.breaks import lasted
from fieldvoice.review.vacuum import Hold, Point, VacuumCurve
from fieldvoice.review.wording import Context

Row = tuple[str, str, str]  # time, vacuum, remark


def curve_rows(curve: VacuumCurve, context: Context) -> list[Row]:
    """Readings, the begin and end of holds, and breaks, in the order of time."""
    found: list[tuple[float, str, str]] = []
    for point in sorted((*curve.points, *curve.struck), key=lambda p: p.minute):
        found.append((point.minute, _vacuum(point), "does not count" if point.struck else ""))
    for hold in curve.holds:
        found.append((hold.start, "", "standing-vacuum test begins"))
        found.append((hold.end, "", _over(hold)))
    for begin, end in curve.breaks:
        if end > curve.first and begin < curve.last:
            found.append((begin, "", f"break of {lasted(timedelta(minutes=end - begin))}"))
    return [(context.clock(curve.began + timedelta(minutes=minute)), text, remark)
            for minute, text, remark in sorted(found, key=lambda row: row[0])]


def _vacuum(point: Point) -> str:
    pascal = say(float(f"{point.microns * PA_PER_MICRON:.3g}"), "Pa")
    return f"{counted(point.text, 'micron')} ({pascal})"


def _over(hold: Hold) -> str:
    return f"its time is over; {hold.words}"
