"""The history of a job: all that was done, with what was taken back again; only ever added to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.records import (
    Acknowledgement,
    Amendment,
    Attachment,
    BranchChoice,
    CarriedStep,
    CarriedTest,
    Jump,
    LineReview,
    LoggedReading,
    Note,
    Remark,
    Reopening,
    Result,
    StepExit,
    StepVisit,
    ToldFact,
    Transcript,
    UndoableLine,
    Withdrawal,
)
from fieldvoice.jobstate.timers import Timer


@dataclass(frozen=True)
class History:
    """Records in the order of their events, and which events do not count any more."""

    began: datetime | None = None  # time of the first event
    started: e.JobStarted | None = None
    finished: e.JobFinished | None = None
    resumed: tuple[datetime, ...] = ()
    lines: dict[int, e.LineHeard] = field(default_factory=dict)  # by seq; never changed
    visits: tuple[StepVisit, ...] = ()
    exits: tuple[StepExit, ...] = ()
    branches: tuple[BranchChoice, ...] = ()
    carried: tuple[CarriedStep, ...] = ()
    told: tuple[ToldFact, ...] = ()
    acknowledgements: tuple[Acknowledgement, ...] = ()
    readings: tuple[LoggedReading, ...] = ()  # with all their values
    results: tuple[Result, ...] = ()
    timers: tuple[Timer, ...] = ()  # each run, with all its changes
    notes: tuple[Note, ...] = ()
    undoable: tuple[UndoableLine, ...] = ()
    jumps: tuple[Jump, ...] = ()
    tests_carried: tuple[CarriedTest, ...] = ()
    reopenings: tuple[Reopening, ...] = ()
    attachments: tuple[Attachment, ...] = ()
    amendments: tuple[Amendment, ...] = ()
    reviews: tuple[LineReview, ...] = ()
    remarks: tuple[Remark, ...] = ()
    transcripts: tuple[Transcript, ...] = ()
    withdrawals: Mapping[int, Withdrawal] = field(default_factory=dict)  # by their own seq
    withdrawn: Mapping[int, datetime] = field(default_factory=dict)  # seq -> when; put back: gone

    def line(self, seq: int | None) -> e.LineHeard | None:
        """The line that an event points at."""
        return None if seq is None else self.lines.get(seq)

    def standing(self, visit: StepVisit) -> str:
        """What became of it: "open", "done", "skipped", "left" for another, or "taken back".

        One of a list that is not done is "listed".
        """
        if visit.exit is None and visit.before is not None:
            return "listed"
        if visit.exit is None:
            return "open" if visit.is_open else "left"
        if visit.exit.seq in self.withdrawn:
            return "taken back"
        return "skipped" if visit.exit.skipped else "done"
