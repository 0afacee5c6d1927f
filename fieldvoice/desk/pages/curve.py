"""The vacuum curve, with earlier visits to the same place; a point leads to its line."""

from __future__ import annotations

from flask import Blueprint, render_template

from fieldvoice.desk.found.drawing import PHONE, WIDE, drawing
from fieldvoice.desk.found.vacuum import earlier_visits, overlaid
from fieldvoice.desk.pages.bench import bench, job_named

pages = Blueprint("curve", __name__, url_prefix="/job/<name>/curve")


@pages.get("")
def curve(name: str) -> str:
    """Of each unit; earlier visits are laid over the first one's."""
    job, found = job_named(name), bench()
    visits = list(earlier_visits(found.library, job, found.now()))
    shown = []
    for place, (called, unit) in enumerate(job.units.units.items()):
        laid = overlaid(unit, [] if place else visits)
        if laid is not None:
            drawn = [drawing(laid, name, size) for size in (WIDE, PHONE)]
            shown.append((called if job.units.several else "", laid, drawn))
    return render_template("curve.html", job=job, units=shown)
