"""What the job state keeps of events that later ones can point at."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from typing import Any


@dataclass(frozen=True)
class ReadingValue:
    """One version of a reading's value: as taken, or as corrected by the event `seq`."""

    seq: int
    value: Decimal  # as said
    unit: str
    si: float
    within: bool | None


@dataclass(frozen=True)
class LoggedReading:
    """A reading that counts, with its corrections; the last value holds."""

    seq: int
    at: datetime
    quantity: str
    si_unit: str
    step: str
    line: int | None
    hold: str | None
    minute: float | None  # of the hold
    values: tuple[ReadingValue, ...]  # never empty

    @property
    def now(self) -> ReadingValue:
        """The value that holds."""
        return self.values[-1]

    @property
    def si(self) -> float:
        """In `si_unit`; pressures absolute."""
        return self.now.si

    def corrected(self, value: ReadingValue) -> LoggedReading:
        """The reading with a newer value."""
        return replace(self, values=(*self.values, value))

    def without(self, seq: int) -> LoggedReading | None:
        """The reading as if the event had not been; None when the event took it."""
        if seq == self.seq:
            return None
        return replace(self, values=tuple(v for v in self.values if v.seq != seq))


@dataclass(frozen=True)
class StepExit:
    """A step that was done or skipped."""

    seq: int
    step: str
    line: int | None
    skipped: bool = False


@dataclass(frozen=True)
class BranchChoice:
    """A way that was taken."""

    seq: int
    step: str
    option: str


@dataclass(frozen=True)
class Result:
    """A result that was given."""

    seq: int
    about: str
    verdict: str
    figures: Mapping[str, Any]
    step: str | None


@dataclass(frozen=True)
class Question:
    """A question of ours that waits for its answer."""

    seq: int
    line: int
    why: str  # "confidence", "surprising", "reason", "gate", "finish"
    intent: Mapping[str, Any]


@dataclass(frozen=True)
class Note:
    """A note that was kept."""

    seq: int
    text: str
    clips: tuple[str, ...]


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


@dataclass(frozen=True)
class Undone:
    """What the last take-back took, and the state before it; gone once something else is done."""

    line: int
    seqs: tuple[int, ...]  # of the Withdrawn events
    withdrew: tuple[int, ...]  # what they withdrew
    before: Mapping[str, Any]  # fields of the job state


@dataclass(frozen=True)
class UndoableLine:
    """What one line did that can be taken back: the events with their sequence numbers."""

    line: int
    seqs: tuple[int, ...]
    kind: str  # kind of the first event: "reading-taken", "step-done", "timer-started", ...
