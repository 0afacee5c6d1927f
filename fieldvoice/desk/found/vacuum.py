"""The vacuum curve of a job and of earlier visits to the same place, ready to draw."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import islice

from fieldvoice.desk.library import Library, ReadJob, Summary
from fieldvoice.errors import FieldvoiceError
from fieldvoice.quantity.constants import microns
from fieldvoice.review.logged_job import LoggedJob
from fieldvoice.review.vacuum import VacuumCurve, vacuum_curve
from fieldvoice.review.wording import said_value

MOST_VISITS = 3
MOST_POINTS = 400  # that lead to their line; of more, every so many


@dataclass(frozen=True)
class Read:
    """One value of the curve, and the line that gave it."""

    minute: float  # since the first reading
    level: float  # microns
    words: str
    at: datetime
    line: int | None
    counts: bool
    how: str  # "", "corrected" or "amended"


@dataclass(frozen=True)
class Visit:
    """An earlier job at the same place."""

    job: str
    day: datetime
    reads: tuple[Read, ...]


@dataclass(frozen=True)
class Overlaid:
    """The curve with its values, and those of earlier visits from their own first reading on."""

    curve: VacuumCurve  # its span takes in the visits
    reads: tuple[Read, ...]
    visits: tuple[Visit, ...]

    @property
    def linked(self) -> tuple[Read, ...]:
        """Those that lead to their line, in order."""
        every = -(-len(self.reads) // MOST_POINTS) or 1
        return self.reads[::every]


def overlaid(unit: LoggedJob, visits: Iterable[Visit]) -> Overlaid | None:
    """None where no vacuum was read."""
    curve = vacuum_curve(unit.state)
    if curve is None:
        return None
    seen = tuple(visits)
    others = [read for visit in seen for read in visit.reads]
    curve = replace(
        curve,
        last=max([curve.last, *(read.minute for read in others)]),
        low=min([curve.low, *(read.level for read in others)]),
        high=max([curve.high, *(read.level for read in others)]))
    return Overlaid(curve, tuple(_reads(unit, all_values=True)), seen)


def _reads(unit: LoggedJob, *, all_values: bool) -> Iterator[Read]:
    """Values of vacuum readings, minutes since the first one; or only those that count."""
    state = unit.state
    taken = [r for r in state.history.readings
             if r.quantity == "vacuum" and any(v.si > 0 for v in r.values)]
    for reading in taken:
        for value in reading.values:
            counts = value.seq in state.values_in_force and not value.unfit
            if value.si <= 0 or not (counts or all_values):
                continue
            how = "amended" if value.reviewer else "" if value.seq == reading.seq else "corrected"
            minute = (reading.at - taken[0].at).total_seconds() / 60
            yield Read(minute, microns(value.si), said_value(value), reading.at,
                       reading.line if value.line is None else value.line, counts, how)


def earlier_visits(library: Library, job: ReadJob, now: datetime) -> Iterator[Visit]:
    """The newest earlier jobs whose place is the same, with their vacuum; unit one of each."""
    began = job.entries[0].at if job.entries else now
    place = job.place.casefold().strip()
    if not place:
        return
    told = (library.summary(name, now) for name in library.shelf.names() if name != job.name)
    same = [s for s in told if s.place.casefold().strip() == place
            and s.began is not None and s.began < began]
    same.sort(key=lambda s: s.began or began, reverse=True)
    seen = (visit for summary in same if (visit := _visit(library, summary, began)) is not None)
    yield from islice(seen, MOST_VISITS)  # no log is read for more than are shown


def _visit(library: Library, summary: Summary, began: datetime) -> Visit | None:
    """None where it cannot be read, or has no vacuum."""
    try:
        reads = tuple(_reads(library.job(summary.name).units.first, all_values=False))
    except FieldvoiceError:
        return None
    return Visit(summary.name, summary.began or began, reads) if reads else None
