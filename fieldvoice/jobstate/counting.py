"""What counts of a job's history: each record as if the withdrawn events had not been."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from typing import Protocol, Self, TypeVar

from fieldvoice.jobstate.events import WORK
from fieldvoice.jobstate.history import History
from fieldvoice.jobstate.records import (
    Amendment,
    Attachment,
    BranchChoice,
    CarriedTest,
    Jump,
    LoggedReading,
    Note,
    Result,
    StepExit,
    StepVisit,
    ToldFact,
    UndoableLine,
)
from fieldvoice.jobstate.timers import Timer

NOT_APPLICABLE = "not applicable"  # the reason of a step that is nothing to be done here


class _Counted(Protocol):
    def without(self, withdrawn: Set[int]) -> Self | None: ...


_R = TypeVar("_R", bound=_Counted)


@dataclass(frozen=True)
class Counting:
    """A job as it stands; all but the history is worked out from it, when it is asked for."""

    history: History = field(default_factory=History)

    @property
    def job(self) -> str:
        """The job's name."""
        return self.history.started.job if self.history.started else ""

    @property
    def mode(self) -> str:
        """Whether it is work, practice or a replay: one of those of events."""
        return self.history.started.mode if self.history.started else WORK

    @cached_property
    def facts(self) -> Mapping[str, str]:
        """What is known of place and equipment: the facts of the start with those told later."""
        began = self.history.started.site if self.history.started else {}
        told = {name: told.value for name, told in self.told.items()}
        return {**began, **told, **{name: a.value for name, a in self.amended.items()}}

    @cached_property
    def amended(self) -> Mapping[str, Amendment]:
        """Facts that were put right at the head of the record, unless told anew since."""
        return {a.fact: a for a in self._counting(self.history.amendments)
                if a.fact not in self.told or self.told[a.fact].seq < a.seq}

    @cached_property
    def attachments(self) -> tuple[Attachment, ...]:
        """Files kept with the job, in order."""
        return self._counting(self.history.attachments)

    @cached_property
    def told(self) -> Mapping[str, ToldFact]:
        """Facts that were told after the start; the newest word on each."""
        return {told.fact: told for told in self._counting(self.history.told)}

    @property
    def ending(self) -> str | None:
        """How the job was closed."""
        return self.history.finished.ending if self.history.finished else None

    @property
    def finished(self) -> bool:
        """The job was closed."""
        return self.history.finished is not None

    @property
    def step(self) -> str | None:
        """The open step."""
        return self._visit.step if self._visit and not self.finished else None

    @property
    def opened_seq(self) -> int:
        """Of the event that began this visit of the open step."""
        return self._visit.began if self._visit else 0

    @cached_property
    def _visit(self) -> StepVisit | None:
        return next((v for v in self.newest_first(self.history.visits) if v.before is None), None)

    @property
    def listed(self) -> tuple[str, ...]:
        """Steps listed before the open one that are not done yet, in order."""
        visit = self._visit
        if visit is None or visit.exit is not None or self.finished:
            return ()
        gone = self.history.withdrawn
        return tuple(v.step for v in self._counting(self.history.visits)
                     if v.before == (visit.step, visit.visit)
                     and (v.exit is None or v.exit.seq in gone))

    @cached_property
    def visits(self) -> Mapping[str, int]:
        """How many times each step was opened afresh."""
        return {v.step: v.visit for v in self._counting(self.history.visits)}

    @cached_property
    def trail(self) -> tuple[StepExit, ...]:
        """Steps done and skipped, in order."""
        return self._counting(self.history.exits)

    @cached_property
    def branches(self) -> tuple[BranchChoice, ...]:
        """Ways taken, in order."""
        return self._counting(self.history.branches)

    @cached_property
    def carried(self) -> Mapping[str, str]:
        """Steps that count as done without being opened, and why; the newest word on each."""
        lifted = {step: jump.seq for jump in self.jumps for step in jump.lifts}
        return {c.step: c.why for c in self._counting(self.history.carried)
                if c.seq > lifted.get(c.step, 0)}

    @cached_property
    def acknowledged(self) -> frozenset[str]:
        """Cautions that were acknowledged aloud."""
        aloud = frozenset(a.caution for a in self._counting(self.history.acknowledgements))
        elsewhere = (name for c in self._counting(self.history.carried) for name in c.cautions)
        return aloud.union(elsewhere)

    @cached_property
    def acknowledged_at(self) -> Mapping[str, datetime]:
        """When each caution was last acknowledged aloud in this job."""
        return {a.caution: a.at for a in self._counting(self.history.acknowledgements)}

    @cached_property
    def readings(self) -> tuple[LoggedReading, ...]:
        """Readings that count, each with the values that count."""
        return self._counting(self.history.readings)

    @cached_property
    def values_in_force(self) -> frozenset[int]:
        """The values that hold, by seq: the newest that counts of each reading that counts."""
        return frozenset(reading.now.seq for reading in self.readings)

    @cached_property
    def results(self) -> tuple[Result, ...]:
        """Results given, in order."""
        return self._counting(self.history.results)

    @cached_property
    def timers(self) -> Mapping[str, Timer]:
        """The newest timer of each label."""
        newest = {timer.label: timer for timer in self.history.timers}
        return {timer.label: timer for timer in self._counting(newest.values())}

    @cached_property
    def notes(self) -> tuple[Note, ...]:
        """Notes kept, in order."""
        return self._counting(self.history.notes)

    @cached_property
    def undoable(self) -> tuple[UndoableLine, ...]:
        """What can be taken back, oldest first."""
        return self._counting(self.history.undoable)

    @cached_property
    def jumps(self) -> tuple[Jump, ...]:
        """Steps gone to out of turn, in order."""
        return self._counting(self.history.jumps)

    @cached_property
    def tests_carried(self) -> tuple[CarriedTest, ...]:
        """Tests held before this job or in another one, in order."""
        return self._counting(self.history.tests_carried)

    @cached_property
    def left_open(self) -> tuple[StepExit, ...]:
        """Steps skipped with a reason, or jumped over, and not done since; in order.

        One that was left by another of its ways, or that does not apply, is not among them.
        """
        ways = {(b.step, b.line) for b in self.branches}
        found: dict[str, StepExit] = {}
        for left in self.trail:
            found.pop(left.step, None)
            said = left.skipped and left.line is not None and left.reason != NOT_APPLICABLE
            if said and (left.step, left.line) not in ways:
                found[left.step] = left
        return tuple(left for left in found.values() if left.step not in self.carried)

    def _counting(self, records: Iterable[_R]) -> tuple[_R, ...]:
        withdrawn = self.history.withdrawn.keys()
        return tuple([kept for r in records if (kept := r.without(withdrawn)) is not None])

    def newest_first(self, records: Sequence[_R]) -> Iterator[_R]:
        """Those of the history's records that count, as they are asked for."""
        withdrawn = self.history.withdrawn.keys()
        for record in reversed(records):
            kept = record.without(withdrawn)
            if kept is not None:
                yield kept
