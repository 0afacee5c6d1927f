"""A job as its reader sees it: steps and what came of them, readings with all their values."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.events import Entry


@dataclass
class Version:
    """A value that a reading had: as taken, or as corrected later."""

    seq: int
    at: datetime
    value: str
    unit: str
    si: float
    within: bool | None
    line: int | None
    withdrawn_at: datetime | None = None


@dataclass
class Measured:
    """A reading with all the values it had, oldest first."""

    seq: int
    at: datetime
    quantity: str
    si_unit: str
    step: str
    hold: str | None
    minute: float | None
    versions: list[Version]
    withdrawn_at: datetime | None = None

    @property
    def counts(self) -> Version | None:
        """The value that holds; None when the reading was withdrawn."""
        if self.withdrawn_at is not None:
            return None
        return next((v for v in reversed(self.versions) if v.withdrawn_at is None), None)

    @property
    def struck(self) -> list[Version]:
        """The values that do not count any more."""
        return [v for v in self.versions if v is not self.counts]


@dataclass
class Done:
    """Something that happened within a step and that one line says: a caution, a way, a result."""

    seq: int
    at: datetime
    event: Any
    line: int | None
    withdrawn_at: datetime | None = None


@dataclass
class Visit:
    """One opening of a step and what came of it."""

    seq: int
    at: datetime
    stage: str
    step: str
    visit: int
    state: str = "open"  # "open", "done", "skipped", "left" (another was opened), "taken back"
    closed_at: datetime | None = None
    reason: str = ""  # of a skipped one
    line: int | None = None  # that closed it
    prompts: list[str] = field(default_factory=list)  # what was asked while it was open
    readings: list[Measured] = field(default_factory=list)
    deeds: list[Done] = field(default_factory=list)  # cautions, ways taken, results


@dataclass
class TimerRun:
    """A timer or hold from its start."""

    seq: int
    at: datetime
    label: str
    seconds: float
    hold: bool
    line: int | None
    step: str | None
    added: float = 0.0  # seconds
    state: str = "running"  # "running", "finished", "stopped", "taken back"
    ended_at: datetime | None = None


@dataclass
class Digest:
    """A whole job."""

    started: e.JobStarted | None = None
    finished: e.JobFinished | None = None
    first_at: datetime | None = None
    last_at: datetime | None = None
    resumed: list[Entry] = field(default_factory=list)
    lines: dict[int, Entry] = field(default_factory=dict)  # LineHeard by seq
    visits: list[Visit] = field(default_factory=list)
    readings: list[Measured] = field(default_factory=list)
    timers: list[TimerRun] = field(default_factory=list)
    notes: list[Done] = field(default_factory=list)
    cautions: list[Done] = field(default_factory=list)
    results: list[Done] = field(default_factory=list)
    withdrawals: list[tuple[Entry, Entry]] = field(default_factory=list)  # (withdrawal, what)

    @property
    def duration(self) -> timedelta:
        """From the first event to the last."""
        if self.first_at is None or self.last_at is None:
            return timedelta(0)
        return self.last_at - self.first_at

    def line(self, seq: int | None) -> e.LineHeard | None:
        """The line that an event points at."""
        entry = None if seq is None else self.lines.get(seq)
        return entry.event if entry and isinstance(entry.event, e.LineHeard) else None

    def of(self, quantity: str) -> list[Measured]:
        """The readings of one quantity, in order."""
        return [r for r in self.readings if r.quantity == quantity]
