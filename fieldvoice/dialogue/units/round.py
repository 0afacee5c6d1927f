"""What one line or tick does to a job: turns of its units, one after the other."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime

from fieldvoice.dialogue import steps
from fieldvoice.dialogue.turn import Heard, Reply, Turn
from fieldvoice.dialogue.turn import Outcome as TurnOutcome
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate import unit_names as names
from fieldvoice.jobstate.earlier_job import LookUp, no_other_job
from fieldvoice.jobstate.events import Entry, Event
from fieldvoice.jobstate.job import Job, fold_job, tagged
from fieldvoice.jobstate.state import JobState
from fieldvoice.procedure.model import Procedure

_ALWAYS_NAMED = ("alert", "caution", "question")  # tones


@dataclass(frozen=True)
class Outcome:
    """Entries to log in this order, then replies to give in this order."""

    entries: tuple[Entry, ...]  # each with its unit
    replies: tuple[Reply, ...]
    job: Job  # after all entries
    keep: tuple[Procedure, ...] = ()  # whose text must be on disk before the entries are

    @property
    def state(self) -> JobState:
        """The open unit's, after all entries."""
        return self.job.state

    @property
    def events(self) -> tuple[Event, ...]:
        """What happened, without numbers, times and units."""
        return tuple(entry.event for entry in self.entries)


class Round:
    """Collects the turns; `job` is always the job so far."""

    def __init__(self, job: Job, now: datetime, look_up: LookUp = no_other_job) -> None:
        self.job, self.now, self.look_up = job, now, look_up
        self._entries: list[Entry] = []
        self._replies: list[Reply] = []
        self._keep: list[Procedure] = []

    def turn(self, unit: str) -> Turn:
        """A turn of a unit, to be handed to `take` when it is over."""
        return Turn(self.job.at(unit), self.now)

    def begin(self, unit: str, procedure: Procedure) -> None:
        """A sheet for a unit, its text kept unless the job has it already."""
        if procedure.sha256 not in self.job.procedures:
            self._keep.append(procedure)
        self.job = self.job.with_unit(unit, procedure)

    def accept(self, heard: Heard, unit: str) -> None:
        """A line that is logged in a unit and done elsewhere."""
        turn = self.turn(unit)
        turn.hear(heard)
        self.take(unit, turn.finish())

    def open(self, unit: str) -> None:
        """A unit becomes the open one; what is said of it was said before."""
        self.note(unit, e.UnitOpened())

    def note(self, unit: str, event: Event) -> None:
        """An event of a unit behind its turn."""
        entry = tagged(Entry(self.job.course.next_seq, self.now, event), unit)
        self.job = fold_job(self.job, [entry])
        self._entries.append(entry)

    def adopt(self, other: Round) -> None:
        """Take over what was tried on another round that began where this one stands."""
        self.job = other.job
        self._entries += other._entries
        self._replies += other._replies
        self._keep += other._keep

    def take(self, unit: str, outcome: TurnOutcome, *, named: bool = False) -> None:
        """Take over a turn of a unit; `named`: what it says begins with the unit's name."""
        job = self.job
        entries = [tagged(entry, unit) for entry in outcome.entries]
        replies = _of_several(job, unit, outcome) if job.several else outcome.replies
        if named:
            replies = _with_name(names.called(job, unit), replies)
        if replies == outcome.replies:
            self.job = job.after(unit, entries, outcome.state)
        else:
            entries = _saying(entries, replies)
            self.job = fold_job(job, entries)
        self._entries += entries
        self._replies += replies

    def finish(self) -> Outcome:
        """Hand everything over."""
        return Outcome(tuple(self._entries), tuple(self._replies), self.job, tuple(self._keep))


def _of_several(job: Job, unit: str, outcome: TurnOutcome) -> tuple[Reply, ...]:
    """A unit that is finished does not finish the job while others are open."""
    if not any(isinstance(event, e.JobFinished) for event in outcome.events):
        return outcome.replies
    left = [other for other, state in job.states.items() if other != unit and not state.finished]
    end = "is finished." if left else "is finished, and so is the job."
    more = f" Still open: {names.listed(job, left)}." if left else ""
    told = f"{names.at_the_start(names.called(job, unit))} {end}{more}"
    return tuple(_changed(r, lambda text: text.replace(steps.JOB_FINISHED, told))
                 for r in outcome.replies)


def _with_name(name: str, replies: tuple[Reply, ...]) -> tuple[Reply, ...]:
    """The first reply of a unit, its alerts, cautions and questions say which unit it is."""
    begin = names.at_the_start(f"{name}: ")

    def prefixed(text: str) -> str:
        return text if text.startswith(begin[:-2]) else begin + text

    return tuple(
        _changed(reply, prefixed) if place == 0 or reply.tone in _ALWAYS_NAMED else reply
        for place, reply in enumerate(replies))


def _changed(reply: Reply, change: Callable[[str], str]) -> Reply:
    spoken = None if reply.spoken is None else change(reply.spoken)
    return replace(reply, text=change(reply.text), spoken=spoken)


def _saying(entries: list[Entry], replies: tuple[Reply, ...]) -> list[Entry]:
    """The entries with these replies as what was said; every reply was logged in its order."""
    said = iter(replies)
    return [_said(entry, next(said)) if isinstance(entry.event, e.Said) else entry
            for entry in entries]


def _said(entry: Entry, reply: Reply) -> Entry:
    return entry.with_event(e.Said(reply.told, reply.tone, reply.aloud))
