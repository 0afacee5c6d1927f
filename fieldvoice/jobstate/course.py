"""The course of a job between its units: which is open, which one was spoken to, what is asked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.events import Entry

CALLS = ("alert", "prompt", "question")  # tones that want an answer


@dataclass(frozen=True)
class UnitQuestion:
    """A question about a unit that waits for its answer."""

    seq: int
    at: datetime
    why: str  # as in events.UnitAsked
    intent: Mapping[str, Any]


@dataclass(frozen=True)
class Turned:
    """When a unit was spoken to last."""

    seq: int
    at: datetime


@dataclass(frozen=True)
class Course:
    """What is known of a job beside its units; nothing but a fold of the log's entries."""

    open: str
    next_seq: int = 1
    last_line: str | None = None  # the unit that the newest line was for
    question: UnitQuestion | None = None
    spoken_to: Mapping[str, Turned] = field(default_factory=dict)  # by a line, or by opening it
    called: Mapping[str, int] = field(default_factory=dict)  # unit -> seq of what it said last
    shared: frozenset[int] = frozenset()  # events that hold for the whole job

    def called_since(self, unit: str, other: str) -> bool:
        """Whether another unit has spoken up, unanswered, since this one was spoken to."""
        spoken = [self.spoken_to[one].seq for one in (unit, other) if one in self.spoken_to]
        return self.called.get(other, 0) > max(spoken, default=0)

    def called_last(self, unit: str, other: str) -> bool:
        """Whether it did so after this one spoke up itself."""
        return self.called_since(unit, other) and self.called[other] > self.called.get(unit, 0)


class CourseDraft:
    """A course under construction: mutable, so that folding a whole log stays linear."""

    def __init__(self, course: Course) -> None:
        self.open, self.next_seq, self.last_line = course.open, course.next_seq, course.last_line
        self.question = course.question
        self._spoken_to, self._called = dict(course.spoken_to), dict(course.called)
        self._shared = set(course.shared)

    def take(self, entry: Entry, unit: str) -> bool:
        """Take one entry of a unit in; whether it holds for the whole job."""
        event = entry.event
        self.next_seq = entry.seq + 1
        if isinstance(event, e.Said):
            if event.tone in CALLS:
                self._called[unit] = entry.seq
        elif isinstance(event, e.LineHeard):
            self.last_line = unit
            self._spoken_to[unit] = Turned(entry.seq, entry.at)
        elif isinstance(event, e.UnitOpened):
            self.open = unit
            self._spoken_to[unit] = Turned(entry.seq, entry.at)
        elif isinstance(event, e.UnitAsked | e.UnitAnswered):
            self._ask(entry, event)
        elif event.whole_job or (isinstance(event, e.Withdrawn)
                                 and event.withdraws in self._shared):
            self._shared.add(entry.seq)
            return True
        return False

    def _ask(self, entry: Entry, event: e.UnitAsked | e.UnitAnswered) -> None:
        if isinstance(event, e.UnitAsked):
            self.question = UnitQuestion(entry.seq, entry.at, event.why, event.intent)
        elif self.question is not None and event.asked == self.question.seq:
            self.question = None

    def settled(self) -> Course:
        """The course that it has become."""
        return Course(self.open, self.next_seq, self.last_line, self.question, self._spoken_to,
                      self._called, frozenset(self._shared))
