"""A job state under construction: mutable, so that folding a whole log stays linear."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import datetime
from functools import cached_property
from typing import Any

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.counting import Counting
from fieldvoice.jobstate.history import History
from fieldvoice.jobstate.records import (
    Acknowledgement,
    Amendment,
    Attachment,
    BranchChoice,
    CarriedStep,
    CarriedTest,
    ClockDoubt,
    Jump,
    LineReview,
    LoggedReading,
    Note,
    OpenNote,
    Question,
    Remark,
    Reopening,
    Result,
    StepExit,
    StepVisit,
    ToldFact,
    Transcript,
    UndoableLine,
    Undone,
    Waiting,
    Withdrawal,
)
from fieldvoice.jobstate.timers import Timer
from fieldvoice.procedure.model import Procedure

_OF_HISTORY = frozenset(f.name for f in fields(History))


class Draft:
    """Attributes are those of JobState and of its History; tuples are lists here.

    A collection is copied when it is first asked for, so that what no event concerns is shared
    with the state that the draft began with.
    """

    # of the history
    began: datetime | None
    started: e.JobStarted | None
    finished: e.JobFinished | None
    resumed: list[datetime]
    lines: dict[int, e.LineHeard]
    visits: list[StepVisit]
    exits: list[StepExit]
    branches: list[BranchChoice]
    carried: list[CarriedStep]
    told: list[ToldFact]
    acknowledgements: list[Acknowledgement]
    readings: list[LoggedReading]
    results: list[Result]
    timers: list[Timer]
    notes: list[Note]
    undoable: list[UndoableLine]
    jumps: list[Jump]
    tests_carried: list[CarriedTest]
    reopenings: list[Reopening]
    attachments: list[Attachment]
    amendments: list[Amendment]
    reviews: list[LineReview]
    remarks: list[Remark]
    transcripts: list[Transcript]
    withdrawals: dict[int, Withdrawal]
    withdrawn: dict[int, datetime]
    # of the state
    procedure: Procedure
    next_seq: int
    last_at: datetime | None
    questions: list[Question]
    open_note: OpenNote | None
    standing_by: bool
    voice: list[str]
    keeps_clips: bool
    own_voice: e.OwnVoiceUsed
    last_said: list[e.Said]
    speaking: bool
    undone: Undone | None
    waiting: list[Waiting]
    clock_doubt: ClockDoubt | None
    untimed: int
    in_stage: str | None
    depth: str
    prompted: frozenset[str]

    def __init__(self, state: Counting) -> None:
        self._state = state

    def __getattr__(self, name: str) -> Any:
        """The state's value, and from then on the draft's own; called once for each name."""
        value = getattr(self._state.history if name in _OF_HISTORY else self._state, name)
        if isinstance(value, tuple):
            value = list(value)
        elif isinstance(value, dict):
            value = dict(value)
        self.__dict__[name] = value
        return value

    def changes(self) -> tuple[dict[str, Any], bool]:
        """The fields of the state that are new, and whether what counts may be another."""
        found: dict[str, Any] = {
            name: tuple(value) if isinstance(value, list) else value
            for name, value in self.__dict__.items() if not name.startswith("_")}
        old = self._state.history
        changed = {name: found.pop(name) for name in _OF_HISTORY & found.keys()}
        changed = {name: new for name, new in changed.items() if new is not getattr(old, name)}
        history = replace(old, **changed) if changed else old
        return {**found, "history": history}, not changed.keys() <= {"lines"}

    @property
    def open_place(self) -> int | None:
        """The place of the newest visit that counts; its step is open, or was just left."""
        places = (n for n in reversed(range(len(self.visits))) if self.visits[n].before is None)
        return next((n for n in places if self.visits[n].seq not in self.withdrawn), None)

    @cached_property
    def _newest_visits(self) -> dict[str, StepVisit]:
        return {v.step: v for v in self.visits if v.seq not in self.withdrawn}

    @cached_property
    def _newest_timers(self) -> dict[str, int]:
        return {timer.label: place for place, timer in enumerate(self.timers)}

    def newest_visit(self, step: str) -> StepVisit | None:
        """The newest visit of a step that counts, as it was when it began."""
        return self._newest_visits.get(step)

    def add_visit(self, visit: StepVisit) -> None:
        """A step was opened."""
        self._newest_visits[visit.step] = visit
        self.visits.append(visit)

    def newest_timer(self, label: str) -> int | None:
        """The place of the newest timer of a label; None when there is none that counts."""
        place = self._newest_timers.get(label)
        return None if place is None or self.timers[place].seq in self.withdrawn else place

    def add_timer(self, timer: Timer) -> None:
        """A timer was started."""
        self._newest_timers[timer.label] = len(self.timers)
        self.timers.append(timer)

    def withdraw(self, seq: int, at: datetime) -> None:
        """The event does not count any more."""
        self.withdrawn[seq] = at
        self.__dict__.pop("_newest_visits", None)

    def restore(self, seq: int) -> None:
        """The event counts again."""
        self.withdrawn.pop(seq, None)
        self.__dict__.pop("_newest_visits", None)
