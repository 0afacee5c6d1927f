"""A job of one unit or several: the sheet of each unit, and which one is open.

A job's log is one; each of its lines belongs to a unit, or holds for all of them
(`Event.whole_job`). What is known of one unit is its JobState, which knows nothing of the others.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate import reducer
from fieldvoice.jobstate.course import Course, CourseDraft
from fieldvoice.jobstate.draft import Draft
from fieldvoice.jobstate.events import Entry
from fieldvoice.jobstate.state import JobState
from fieldvoice.procedure.model import Procedure

FIRST = "unit one"  # the unit of the lines that name none


@dataclass(frozen=True)
class Job:
    """Where every unit of a job stands. Build with `of` and `fold_job` only; compare with ==."""

    states: Mapping[str, JobState]  # by unit, in the order in which they were begun
    procedures: Mapping[str, Procedure] = field(compare=False)  # by SHA-256; those it may use
    course: Course = field(default_factory=lambda: Course(FIRST))

    @staticmethod
    def of(state: JobState, procedures: Iterable[Procedure] = ()) -> Job:
        """The job of a first unit; `procedures`: the others that its units were begun with."""
        known = {procedure.sha256: procedure for procedure in (*procedures, state.procedure)}
        return Job({FIRST: state}, known, Course(FIRST, state.next_seq))

    @property
    def open(self) -> str:
        """The unit that a line is for when it names none."""
        return self.course.open

    @property
    def state(self) -> JobState:
        """The open unit's."""
        return self.states[self.open]

    @property
    def several(self) -> bool:
        """More than one unit."""
        return len(self.states) > 1

    @property
    def begun(self) -> bool:
        """A first event was logged."""
        return self.course.next_seq > 1

    @property
    def finished(self) -> bool:
        """Every unit was closed."""
        return all(state.finished for state in self.states.values())

    @property
    def mode(self) -> str:
        """Work, practice or a replay; the first unit's, whose start the others follow."""
        return self.states[FIRST].mode

    @property
    def voice(self) -> tuple[str, ...]:
        """How Fieldvoice was asked to speak; the first unit has seen all changes."""
        return self.states[FIRST].voice

    def at(self, unit: str) -> JobState:
        """A unit's state, ready for the next event of the job."""
        return self.states[unit].at(self.course.next_seq)

    def with_unit(self, unit: str, procedure: Procedure) -> Job:
        """With a sheet that is about to begin."""
        return replace(
            self, states={**self.states, unit: _blank(procedure, self.state)},
            procedures={**self.procedures, procedure.sha256: procedure})

    def after(self, unit: str, entries: Sequence[Entry], state: JobState) -> Job:
        """The job after a turn of one unit, which that unit's `state` has taken in already."""
        if not entries:
            return self
        course, states = CourseDraft(self.course), {**self.states, unit: state}
        for entry in entries:
            if course.take(entry, unit):
                states |= {other: _told(known, entry) for other, known in states.items()
                           if other != unit}
        return replace(self, states=states, course=course.settled())


def tagged(entry: Entry, unit: str) -> Entry:
    """The entry as the log has it: the first unit's carries no name."""
    return entry.of(None if unit == FIRST else unit)


def unit_of(entry: Entry) -> str:
    """The unit that an entry belongs to."""
    return entry.unit or FIRST


def fold_job(job: Job, entries: Iterable[Entry], *, lenient: bool = False) -> Job:
    """The job after the entries of its log. Linear.

    Raises ValueError on a gap in their numbers, on one that cannot be, and on a unit whose
    procedure is not known; `lenient`, for a reader of a damaged log, goes on without them.
    """
    states, course = dict(job.states), CourseDraft(job.course)
    drafts = {unit: Draft(state) for unit, state in states.items()}
    for entry in entries:
        unit = unit_of(entry)
        if entry.seq != course.next_seq and not lenient:
            raise ValueError(
                f"event {entry.seq} follows {course.next_seq - 1}: the log has a gap")
        if unit not in states:
            states[unit] = _blank(_procedure(job, entry, lenient), drafts[course.open])
            drafts[unit] = Draft(states[unit])
        if course.take(entry, unit):
            told = entry.with_event(entry.event.without_line())
            for other in drafts.keys() - {unit}:
                _apply(drafts[other], told, lenient)
        _apply(drafts[unit], entry, lenient)
    settled = {unit: state.settled(drafts[unit]) for unit, state in states.items()}
    return replace(job, states=settled, course=course.settled())


def _blank(procedure: Procedure, open_one: JobState | Draft) -> JobState:
    """An empty sheet; how Fieldvoice speaks, and how much, is as it was asked for."""
    return replace(JobState.empty(procedure), voice=tuple(open_one.voice), depth=open_one.depth,
                   prompted=frozenset(open_one.prompted), keeps_clips=open_one.keeps_clips,
                   own_voice=open_one.own_voice)


def _apply(draft: Draft, entry: Entry, lenient: bool) -> None:
    try:
        reducer.apply(draft, entry)
    except (ValueError, TypeError, LookupError, ArithmeticError, AttributeError):
        if not lenient:
            raise


def _told(state: JobState, entry: Entry) -> JobState:
    """The state of a unit after an event of another one that holds for the whole job."""
    draft = Draft(state)
    reducer.apply(draft, entry.with_event(entry.event.without_line()))
    return state.settled(draft)


def _procedure(job: Job, entry: Entry, lenient: bool) -> Procedure:
    event = entry.event
    sha256 = event.procedure_sha256 if isinstance(event, e.JobStarted) else ""
    known = job.procedures.get(sha256)
    if known is None and not lenient:
        raise ValueError(f"event {entry.seq} is of {entry.unit}, whose procedure is not kept here")
    return known or Procedure(name="", title="", text="")
