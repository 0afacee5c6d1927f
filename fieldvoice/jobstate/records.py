"""What events leave behind in the job's history, and what the job state keeps of the talk."""

from __future__ import annotations

from collections.abc import Mapping, Set
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from typing import Any, Self


@dataclass(frozen=True)
class Record:
    """What an event left behind. It stays as it is when the event is withdrawn."""

    seq: int  # of the event
    at: datetime

    def without(self, withdrawn: Set[int]) -> Self | None:
        """The record as if the withdrawn events had not been; None when it was left by one."""
        return None if self.seq in withdrawn else self


@dataclass(frozen=True)
class Attachment(Record):
    """A file kept with the job."""

    file: str
    sha256: str
    bytes: int
    caption: str
    by: str
    line: int | None


@dataclass(frozen=True)
class Amendment(Record):
    """A fact at the head of the record that was put right."""

    fact: str
    value: str
    was: str
    by: str
    reason: str


@dataclass(frozen=True)
class CarriedStep(Record):
    """A step that was done elsewhere, or before this job."""

    step: str
    why: str
    line: int | None
    cautions: tuple[str, ...] = ()  # acknowledged there


@dataclass(frozen=True)
class ToldFact(Record):
    """A fact that was told after the job began."""

    fact: str
    value: str
    step: str | None  # the one that was open
    line: int | None


@dataclass(frozen=True)
class CarriedTest(Record):
    """A test held before this job or in another one."""

    about: str
    verdict: str
    day: str  # ISO
    by: str
    source: str  # the job whose log has it; "": as told
    figures: Mapping[str, str]
    line: int | None


@dataclass(frozen=True)
class Jump(Record):
    """A step that was gone to out of turn."""

    stage: str
    step: str
    origin: str
    back: bool
    lifts: tuple[str, ...]  # carried-over steps that are done here after all
    line: int | None


@dataclass(frozen=True)
class Reopening(Record):
    """A job that was closed was opened again."""

    reason: str
    ending: str  # how it had been closed


# --- readings ----------------------------------------------------------------------------------


@dataclass(frozen=True)
class ReadingValue(Record):
    """A value that a reading had: as taken, or as corrected later."""

    said: str  # the number, as said
    unit: str
    si: float
    within: bool | None  # the step's limits
    line: int | None
    over_plate: str | None = None  # the plate that it lies above
    unfit: str | None = None  # why it is not held against a limit, nor judged
    reviewer: str = ""  # who amended it after the work; "": it is of the job itself
    reason: str = ""  # of that

    @property
    def value(self) -> Decimal:
        """The number. Raises InvalidOperation when a log made elsewhere has none."""
        return Decimal(self.said)


@dataclass(frozen=True)
class LoggedReading(Record):
    """A reading with its values: all of them in the history, in the state those that count."""

    quantity: str
    si_unit: str
    step: str
    hold: str | None
    minute: float | None  # of the hold
    values: tuple[ReadingValue, ...]  # never empty

    @property
    def line(self) -> int | None:
        """The line that it was taken with."""
        return self.values[0].line

    @property
    def now(self) -> ReadingValue:
        """The newest value."""
        return self.values[-1]

    @property
    def si(self) -> float:
        """In `si_unit`; pressures absolute."""
        return self.now.si

    def corrected(self, value: ReadingValue) -> LoggedReading:
        """The reading with a newer value."""
        return replace(self, values=(*self.values, value))

    def without(self, withdrawn: Set[int]) -> Self | None:
        """The reading with the values that count."""
        if self.seq in withdrawn:
            return None
        if len(self.values) == 1:
            return self
        return replace(self, values=tuple(v for v in self.values if v.seq not in withdrawn))


# --- steps and what comes of them --------------------------------------------------------------


@dataclass(frozen=True)
class StepExit(Record):
    """A step that was done or skipped."""

    step: str
    line: int | None
    skipped: bool = False
    reason: str = ""  # of a skipped one
    listed: bool = False  # one of a list


@dataclass(frozen=True)
class StepVisit(Record):
    """A step that was opened, for the first time in a visit or again in the same one."""

    stage: str
    step: str
    visit: int  # how many times the step had been opened afresh
    began: int  # seq of the visit's first opening
    exit: StepExit | None = None
    left_at: datetime | None = None  # another step was opened, or the job closed
    before: tuple[str, int] | None = None  # one of a list, never open: the step after it, its visit

    @property
    def is_open(self) -> bool:
        """Neither done nor skipped nor left, nor one of a list."""
        return self.exit is None and self.left_at is None and self.before is None


@dataclass(frozen=True)
class BranchChoice(Record):
    """A way that was taken."""

    step: str
    option: str
    why: str
    line: int | None


@dataclass(frozen=True)
class Acknowledgement(Record):
    """A caution that was acknowledged aloud."""

    step: str
    caution: str
    line: int | None


@dataclass(frozen=True)
class Result(Record):
    """A result that was given."""

    about: str
    verdict: str
    figures: Mapping[str, Any]
    step: str | None
    line: int | None


@dataclass(frozen=True)
class Note(Record):
    """A note that was kept."""

    text: str
    clips: tuple[str, ...]


# --- what was taken back -----------------------------------------------------------------------


@dataclass(frozen=True)
class Withdrawal(Record):
    """An event that took another one back, or put back what that had taken."""

    withdraws: int
    line: int | None


@dataclass(frozen=True)
class UndoableLine:
    """What one line did that can be taken back: the events with their sequence numbers."""

    line: int
    seqs: tuple[int, ...]
    kind: str  # kind of the first event: "reading-taken", "step-done", "timer-started", ...

    def without(self, withdrawn: Set[int]) -> Self | None:
        """What is left of it; None when all was withdrawn."""
        if withdrawn.isdisjoint(self.seqs):
            return self
        kept = tuple(seq for seq in self.seqs if seq not in withdrawn)
        return replace(self, seqs=kept) if kept else None


@dataclass(frozen=True)
class Undone:
    """What the last take-back did; gone once something else is done."""

    line: int
    seqs: tuple[int, ...] = ()  # of the Withdrawn events
    withdrew: tuple[int, ...] = ()  # what they withdrew
    beside: tuple[int, ...] = ()  # a step opened again, its hold stopped: undone by putting back


# --- the talk ----------------------------------------------------------------------------------


@dataclass(frozen=True)
class ClockDoubt:
    """After a restart of the computer: whether its clock is right has not been said yet."""

    seq: int
    clock: datetime  # what it showed
    behind: bool
    ran: Mapping[str, float]  # what runs -> seconds by that clock


@dataclass(frozen=True)
class Question:
    """A question of ours that waits for its answer."""

    seq: int
    line: int
    why: str  # as in events.Asked
    intent: Mapping[str, Any]


@dataclass(frozen=True)
class Waiting:
    """Something that waits for the technician."""

    what: str  # "standing by", "note" or "question"
    since: datetime  # of a question: when it was last put
    reminded: int = 0  # minutes of the last reminder


@dataclass(frozen=True)
class OpenNote:
    """A note being taken: what was said since it began."""

    seq: int
    words: tuple[str, ...] = ()
    clips: tuple[str, ...] = ()

    def heard(self, words: str, clip: str | None) -> OpenNote:
        """The note with one more line."""
        clips = (*self.clips, clip) if clip else self.clips
        return replace(self, words=(*self.words, words), clips=clips)


# --- review ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class LineReview(Record):
    """What a reviewer said of a line."""

    line: int
    right: bool
    reviewer: str
    reason: str
    words: str  # really said


@dataclass(frozen=True)
class Remark(Record):
    """A reviewer's remark; `about` None: on the whole job."""

    about: int | None
    text: str
    reviewer: str


@dataclass(frozen=True)
class Transcript(Record):
    """The words of a line's sound, written down afterwards."""

    line: int
    text: str
    how: str
    reviewer: str
