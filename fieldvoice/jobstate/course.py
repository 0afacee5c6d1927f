"""The course of a job between its units: which is open, which one was spoken to, what is asked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
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

    def after(self, entry: Entry, unit: str) -> Course:
        """The course after an entry of a unit."""
        next_seq, event = entry.seq + 1, entry.event
        shared = self.shared | {entry.seq} if self._holds_for_all(event) else self.shared
        turned = Turned(entry.seq, entry.at)
        if isinstance(event, e.LineHeard):
            return replace(self, next_seq=next_seq, last_line=unit,
                           spoken_to={**self.spoken_to, unit: turned})
        if isinstance(event, e.UnitOpened):
            return replace(self, next_seq=next_seq, open=unit,
                           spoken_to={**self.spoken_to, unit: turned})
        if isinstance(event, e.Said) and event.tone in CALLS:
            return replace(self, next_seq=next_seq, called={**self.called, unit: entry.seq})
        question = self._question_after(entry)
        return replace(self, next_seq=next_seq, shared=shared, question=question)

    def _holds_for_all(self, event: e.Event) -> bool:
        """Also the taking back of an event that did."""
        taken_back = isinstance(event, e.Withdrawn) and event.withdraws in self.shared
        return event.whole_job or taken_back

    def _question_after(self, entry: Entry) -> UnitQuestion | None:
        event, question = entry.event, self.question
        if isinstance(event, e.UnitAsked):
            return UnitQuestion(entry.seq, entry.at, event.why, event.intent)
        closed = isinstance(event, e.UnitAnswered) and question is not None \
            and event.asked == question.seq
        return None if closed else question

    def called_since(self, unit: str, other: str) -> bool:
        """Whether another unit has spoken up, unanswered, since this one was spoken to."""
        spoken = [self.spoken_to[one].seq for one in (unit, other) if one in self.spoken_to]
        return self.called.get(other, 0) > max(spoken, default=0)

    def called_last(self, unit: str, other: str) -> bool:
        """Whether it did so after this one spoke up itself."""
        return self.called_since(unit, other) and self.called[other] > self.called.get(unit, 0)
