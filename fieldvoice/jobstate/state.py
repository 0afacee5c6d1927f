"""The job state: the state of a job, and nothing but the fold of its events."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping
from copy import copy
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import cached_property
from typing import Any

from fieldvoice.jobstate import depths, reducer, timers
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.counting import Counting
from fieldvoice.jobstate.draft import Draft
from fieldvoice.jobstate.events import Entry
from fieldvoice.jobstate.records import (
    ClockDoubt,
    LoggedReading,
    OpenNote,
    Question,
    Undone,
    Waiting,
)
from fieldvoice.jobstate.timers import Timer
from fieldvoice.procedure import derived_limits
from fieldvoice.procedure.model import Procedure
from fieldvoice.procedure.settings import Limit
from fieldvoice.procedure.step import Need, Step, When
from fieldvoice.quantity.convert import to_si
from fieldvoice.quantity.site import Site, site_from


@dataclass(frozen=True)
class JobState(Counting):
    """Where a job stands: what counts of its history. Build with `empty` and `fold` only.

    Compare with ==.
    """

    procedure: Procedure = field(kw_only=True)
    next_seq: int = 1
    last_at: datetime | None = None  # last worked on
    questions: tuple[Question, ...] = ()  # the first is the open one, the others wait behind it
    open_note: OpenNote | None = None
    standing_by: bool = False
    voice: tuple[str, ...] = ()  # changes, in order
    keeps_clips: bool = True  # the sound of lines
    own_voice: e.OwnVoiceUsed = e.NO_OWN_VOICE  # what spoken lines are heard with
    last_said: tuple[e.Said, ...] = ()  # the last burst of replies
    speaking: bool = False  # the newest event was one of them
    undone: Undone | None = None  # what can be put back
    waiting: tuple[Waiting, ...] = ()  # for the technician
    clock_doubt: ClockDoubt | None = None  # until it is settled no timer counts as run out
    untimed: int = 0  # timers begun before that event, and still running, ran nobody knows how long
    in_stage: str | None = None  # the stage that was entered and not left
    depth: str = depths.EVERY_STEP  # how much is said of the work
    prompted: frozenset[str] = frozenset()  # kinds of steps that keep their own prompt

    @staticmethod
    def empty(procedure: Procedure) -> JobState:
        """The state before the first event."""
        return JobState(procedure=procedure)

    @property
    def question(self) -> Question | None:
        """The question that is open."""
        return self.questions[0] if self.questions else None

    @property
    def last_heard(self) -> e.LineHeard | None:
        """The newest line that came in."""
        return next(reversed(self.history.lines.values()), None)

    def with_outcome(self, line: int, outcome: str) -> JobState:
        """The state once it is known what became of a line."""
        heard = {**self.history.lines, line: self.history.lines[line].with_outcome(outcome)}
        return self._counting_alike(history=replace(self.history, lines=heard))

    def at(self, next_seq: int) -> JobState:
        """The same state where that number is the next: other units have logged since."""
        return self if next_seq == self.next_seq else self._counting_alike(next_seq=next_seq)

    def settled(self, draft: Draft) -> JobState:
        """The state that a draft begun with this one has become."""
        changed, counts_anew = draft.changes()
        return replace(self, **changed) if counts_anew else self._counting_alike(**changed)

    def _counting_alike(self, **changed: Any) -> JobState:
        """With other values but the same that counts, which need not be found again."""
        new = copy(self)
        vars(new).update(changed)
        return new

    @property
    def site(self) -> Site:
        """The place, as far as readings depend on it."""
        return site_from(self.facts)

    @property
    def open_step(self) -> Step | None:
        """The step being worked on; None before the first and after an ending."""
        return None if self.step is None else self.procedure.step(self.step)

    @property
    def expects_free_text(self) -> bool:
        """The next line may be any words: a reason that was asked for, or a note."""
        asked = self.question is not None and self.question.why in ("reason", "name")
        return asked or self.open_note is not None

    @property
    def hold(self) -> Timer | None:
        """The hold of the open step, running or run out, begun in this visit of the step."""
        timer = self.timers.get(timers.HOLD)
        if timer is None or timer.hold != self.step or not (timer.running or timer.finished):
            return None
        return timer if timer.seq > self.opened_seq else None

    @cached_property
    def limits(self) -> Mapping[str, Limit]:
        """The procedure's limits, with those that the criterion and the facts set."""
        return self.procedure.with_site(self.facts).limits

    def limit(self, name: str) -> Limit:
        """A named limit, with the site's criterion and what it follows in force."""
        limit = self.limits[name]
        if not limit.figure:
            return limit
        if limit.figure in derived_limits.OF_ANSWERS:
            return derived_limits.answered(
                limit, self.answer(limit.of), self.facts.get("refrigerant"))
        read = self.last_good(limit.of)
        return limit if read is None else derived_limits.worked(limit, read.si, self.site)

    def limit_si(self, name: str) -> float:
        """A limit in SI; pressures absolute."""
        limit = self.limit(name)
        return to_si(limit.value, limit.unit, self.site.atmosphere_pa)

    def answer(self, name: str) -> str | None:
        """What was chosen at a step of that name, or a fact of the site; None: not known."""
        taken = (b.option for b in reversed(self.branches) if b.step == name)
        return next(taken, self.facts.get(name))

    def last(self, quantity: str | None = None) -> LoggedReading | None:
        """The newest reading, of one quantity or of any."""
        return next(self._newest(quantity), None)

    def here(self, quantity: str) -> list[LoggedReading]:
        """Readings of a quantity since the open step was opened."""
        return [t for t in self._since(self.opened_seq) if t.quantity == quantity]

    def last_good(self, quantity: str) -> LoggedReading | None:
        """The last reading of a quantity that was not outside its limits."""
        return next((t for t in self._newest(quantity) if t.now.within is not False), None)

    def _newest(self, quantity: str | None) -> Iterator[LoggedReading]:
        """Readings that count, of one quantity or of any, newest first."""
        taken = self.history.readings
        of_it = taken if quantity is None else [t for t in taken if t.quantity == quantity]
        return self.newest_first(of_it)

    def hold_readings(self) -> list[LoggedReading]:
        """Readings that count for the hold of the open step, in order."""
        hold = self.hold
        if hold is None:
            return []
        return [t for t in self._since(hold.seq) if t.hold == hold.hold and not t.now.unfit]

    def _since(self, seq: int) -> list[LoggedReading]:
        newest_first = itertools.takewhile(
            lambda t: t.seq > seq, self.newest_first(self.history.readings))
        return list(newest_first)[::-1]

    def within(self, need: Need | When, si: float) -> bool | None:
        """Whether a value lies inside a need's limits; None when it has none."""
        if need.low is None and need.high is None:
            return None
        low = need.low is None or si >= self.limit_si(need.low)
        return low and (need.high is None or si <= self.limit_si(need.high))

    def unmet(self) -> Need | None:
        """The first reading that the open step still waits for."""
        step = self.open_step
        for need in step.needs if step else ():
            good = [t for t in self.here(need.quantity) if t.now.within is not False]
            if len(good) < need.times:
                return need
        return None

    def laps(self, step: str) -> int:
        """How many times a step was done."""
        return sum(1 for left in self.trail if left.step == step)

    def unacknowledged(self) -> list[str]:
        """Cautions of the open step that still wait to be acknowledged aloud."""
        step = self.open_step
        return [name for name in (step.cautions if step else ())
                if self.procedure.cautions[name].acknowledge and name not in self.acknowledged]


def fold(state: JobState, entries: Iterable[Entry], *, lenient: bool = False) -> JobState:
    """The state after the entries. Linear.

    Raises ValueError on a gap in their numbers and on one that cannot be; `lenient`, for a reader
    of a damaged log, goes on without them.
    """
    draft = Draft(state)
    for entry in entries:
        if entry.seq != draft.next_seq and not lenient:
            raise ValueError(
                f"event {entry.seq} follows {draft.next_seq - 1}: the log has a gap")
        try:
            reducer.apply(draft, entry)
        except ValueError:
            if not lenient:
                raise
    return state.settled(draft)
