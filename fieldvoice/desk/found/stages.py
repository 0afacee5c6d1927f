"""How long each stage of a job took, in the order in which they were worked on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import pairwise

from fieldvoice.desk.library import ReadJob
from fieldvoice.jobstate.events import JobResumed, is_work
from fieldvoice.review.logged_job import LoggedJob
from fieldvoice.review.wording import name_words


@dataclass(frozen=True)
class Stage:
    """A stretch of time in one stage; a stage that was gone back to has several."""

    title: str
    unit: str  # "" in a job of one
    seq: int  # of the event that it began with
    began: datetime
    ended: datetime
    away: timedelta = timedelta()  # of it, nobody worked: from a stop until work went on

    @property
    def length(self) -> timedelta:
        """From beginning to end, breaks and nights included."""
        return self.ended - self.began


def stages(job: ReadJob) -> list[Stage]:
    """Unit by unit, in order of time."""
    breaks = list(_breaks(job))
    return [_less(stage, breaks) for name, unit in job.units.units.items()
            for stage in _of_unit(unit, name if job.units.several else "")]


def _of_unit(unit: LoggedJob, name: str) -> Iterator[Stage]:
    state, open_one = unit.state, None
    known = state.procedure.stages
    for visit in state.history.visits:
        if visit.before is not None:
            continue  # one of a list, never open itself
        title = known[visit.stage].title if visit.stage in known else name_words(visit.stage)
        if open_one is not None and open_one.title != title:
            yield replace(open_one, ended=visit.at)
            open_one = None
        if open_one is None:
            open_one = Stage(title, name, visit.seq, visit.at, visit.at)
        left = visit.exit.at if visit.exit is not None else visit.left_at or state.last_at
        open_one = replace(open_one, ended=max(open_one.ended, left or visit.at))
    if open_one is not None:
        yield open_one


def _breaks(job: ReadJob) -> Iterator[tuple[datetime, datetime]]:
    """From the last line before a stop to the one with which work went on."""
    worked = [entry for entry in job.entries if is_work(entry.event)]
    for before, entry in pairwise(worked):
        if isinstance(entry.event, JobResumed):
            yield before.at, entry.at


def _less(stage: Stage, breaks: Sequence[tuple[datetime, datetime]]) -> Stage:
    inside = (min(end, stage.ended) - max(start, stage.began) for start, end in breaks)
    return replace(stage, away=sum((max(span, timedelta()) for span in inside), timedelta()))


def length_words(span: timedelta) -> str:
    """"4 h 05 min", "12 min", "40 s"."""
    seconds = round(span.total_seconds())
    if seconds < 60:
        return f"{seconds} s"
    hours, minutes = divmod(round(seconds / 60), 60)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min"
