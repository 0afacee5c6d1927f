"""How each event changes the job state: a mutable draft, so that folding stays linear."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, replace
from datetime import datetime
from decimal import Decimal
from typing import Any

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.events import Entry
from fieldvoice.jobstate.records import (
    BranchChoice,
    LoggedReading,
    Note,
    OpenNote,
    Question,
    ReadingValue,
    Result,
    StepExit,
    UndoableLine,
    Undone,
)
from fieldvoice.jobstate.timers import Change, Timer
from fieldvoice.procedure.model import Procedure

UNDOABLE = (
    e.ReadingTaken, e.ReadingCorrected, e.StepDone, e.StepSkipped, e.BranchTaken, e.TimerStarted,
    e.TimerExtended, e.TimerStopped, e.NoteTaken, e.VerdictGiven,
)
TAKEN_BACK_LASTS = (  # what may happen between a take-back and putting it back
    e.Withdrawn, e.LineHeard, e.Said, e.Asked, e.Answered, e.VoiceChanged, e.StoodBy,
    e.BackAtWork, e.JobResumed, e.StepOpened, e.CautionAcknowledged, e.NoteOpened,
)
_PICTURED = ("step", "opened_seq", "visits", "opened", "trail", "branches", "readings", "results",
             "timers", "notes", "undoable")
_LISTS = ("trail", "branches", "readings", "results", "notes", "voice", "last_said", "undoable")
_DICTS = ("visits", "opened", "timers", "facts")


class Draft:
    """A job state under construction; its attributes are those of JobState."""

    procedure: Procedure
    facts: dict[str, str]
    next_seq: int
    job: str
    ending: str | None
    step: str | None
    opened_seq: int
    visits: dict[str, int]
    opened: dict[str, int]
    trail: list[StepExit]
    branches: list[BranchChoice]
    acknowledged: frozenset[str]
    readings: list[LoggedReading]
    results: list[Result]
    timers: dict[str, Timer]
    question: Question | None
    notes: list[Note]
    open_note: OpenNote | None
    standing_by: bool
    voice: list[str]
    last_heard: e.LineHeard | None
    last_said: list[e.Said]
    speaking: bool
    last_at: datetime | None
    undoable: list[UndoableLine]
    undone: Undone | None

    def __init__(self, values: dict[str, Any]) -> None:
        self.__dict__.update(values)
        for name in _LISTS:
            self.__dict__[name] = list(values[name])
        for name in _DICTS:
            self.__dict__[name] = dict(values[name])

    @staticmethod
    def of(state: Any) -> Draft:
        """A draft that starts from a state."""
        return Draft({f.name: getattr(state, f.name) for f in fields(state)})

    def frozen(self) -> dict[str, Any]:
        """The values for a new state."""
        return {k: tuple(v) if k in _LISTS else v for k, v in self.__dict__.items()}

    def apply(self, entry: Entry) -> None:
        """Take one entry in."""
        if entry.seq != self.next_seq:
            raise ValueError(f"event {entry.seq} follows {self.next_seq - 1}: the log has a gap")
        self.next_seq = entry.seq + 1
        self.last_at = entry.at
        self.speaking = self.speaking and isinstance(entry.event, e.Said)
        change = _CHANGES.get(type(entry.event))
        if change is not None:
            change(self, entry.event, entry)
        if self._belongs_to_take_back(entry.event):
            return
        if not isinstance(entry.event, TAKEN_BACK_LASTS):
            self.undone = None
        if isinstance(entry.event, UNDOABLE) and entry.event.line is not None:
            self._remember(entry.event, entry.event.line, entry.seq)

    def _belongs_to_take_back(self, event: e.Event) -> bool:
        """A hold that is stopped because the step before it is opened again."""
        return (isinstance(event, e.TimerStopped) and self.undone is not None
                and event.line == self.undone.line)

    def _remember(self, event: e.Event, line: int, seq: int) -> None:
        if self.undoable and self.undoable[-1].line == line:
            last = self.undoable[-1]
            self.undoable[-1] = UndoableLine(line, (*last.seqs, seq), last.kind)
        elif not isinstance(event, e.VerdictGiven):  # an answered question is nothing to undo
            self.undoable.append(UndoableLine(line, (seq,), event.kind))

    def _on_started(self, event: e.JobStarted, _entry: Entry) -> None:
        self.job, self.facts = event.job, dict(event.site)
        self.procedure = self.procedure.with_site(event.site)

    def _on_finished(self, event: e.JobFinished, _entry: Entry) -> None:
        self.ending, self.step, self.question = event.ending, None, None

    def _on_heard(self, event: e.LineHeard, _entry: Entry) -> None:
        self.last_heard = event
        if self.open_note is not None and event.intent.get("intent") != "end-note":
            self.open_note = self.open_note.heard(event.words, event.clip)

    def _on_said(self, event: e.Said, _entry: Entry) -> None:
        if not self.speaking:
            self.last_said = []
        self.last_said.append(event)
        self.speaking = True

    def _on_asked(self, event: e.Asked, entry: Entry) -> None:
        self.question = Question(entry.seq, event.line, event.why, event.intent)

    def _on_answered(self, event: e.Answered, _entry: Entry) -> None:
        if self.question is not None and self.question.seq == event.asked:
            self.question = None

    def _on_note_opened(self, _event: e.NoteOpened, entry: Entry) -> None:
        self.open_note = OpenNote(entry.seq)

    def _on_note_taken(self, event: e.NoteTaken, entry: Entry) -> None:
        self.notes.append(Note(entry.seq, event.text, tuple(event.clips)))
        self.open_note = None

    def _on_stood_by(self, _event: e.StoodBy, _entry: Entry) -> None:
        self.standing_by = True

    def _on_back_at_work(self, _event: e.BackAtWork, _entry: Entry) -> None:
        self.standing_by = False

    def _on_voice_changed(self, event: e.VoiceChanged, _entry: Entry) -> None:
        self.voice.append(event.change)

    def _on_opened(self, event: e.StepOpened, entry: Entry) -> None:
        if self.visits.get(event.step) != event.visit:  # else the same visit goes on
            self.visits[event.step], self.opened[event.step] = event.visit, entry.seq
        self.step, self.opened_seq = event.step, self.opened[event.step]

    def _on_acknowledge(self, event: e.CautionAcknowledged, _entry: Entry) -> None:
        self.acknowledged = self.acknowledged | {event.caution}

    def _on_done(self, event: e.StepDone, entry: Entry) -> None:
        self.trail.append(StepExit(entry.seq, event.step, event.line))

    def _on_skipped(self, event: e.StepSkipped, entry: Entry) -> None:
        self.trail.append(StepExit(entry.seq, event.step, event.line, skipped=True))

    def _on_branched(self, event: e.BranchTaken, entry: Entry) -> None:
        self.branches.append(BranchChoice(entry.seq, event.step, event.option))

    def _on_taken(self, event: e.ReadingTaken, entry: Entry) -> None:
        value = ReadingValue(entry.seq, Decimal(event.value), event.unit, event.si, event.within)
        self.readings.append(LoggedReading(
            entry.seq, entry.at, event.quantity, event.si_unit, event.step, event.line,
            event.hold, event.minute, (value,),
        ))

    def _on_corrected(self, event: e.ReadingCorrected, entry: Entry) -> None:
        value = ReadingValue(entry.seq, Decimal(event.value), event.unit, event.si, event.within)
        for place in range(len(self.readings) - 1, -1, -1):
            if self.readings[place].seq == event.corrects:
                self.readings[place] = self.readings[place].corrected(value)
                return

    def _on_withdrawn(self, event: e.Withdrawn, entry: Entry) -> None:
        if self.undone is not None and event.withdraws in self.undone.seqs:
            self._put_back(self.undone)
            return
        self._keep_picture(event, entry.seq)
        self._withdraw(event.withdraws)

    def _keep_picture(self, event: e.Withdrawn, seq: int) -> None:
        """Keep what a take-back takes; a correction that withdraws more is no take-back."""
        line = event.line
        if line is None or (self.undoable and self.undoable[-1].line == line):
            return
        before = self.undone
        if before is None or before.line != line:
            kept = {name: self.__dict__[name] for name in _PICTURED}
            kept |= {n: tuple(v) for n, v in kept.items() if n in _LISTS}
            kept |= {n: dict(v) for n, v in kept.items() if n in _DICTS}
            before = Undone(line, (), (), kept)
        self.undone = Undone(line, (*before.seqs, seq), (*before.withdrew, event.withdraws),
                             before.before)

    def _put_back(self, undone: Undone) -> None:
        for name, value in undone.before.items():
            copied = list(value) if name in _LISTS else dict(value) if name in _DICTS else value
            self.__dict__[name] = copied
        rest = tuple(s for s in undone.seqs if s != undone.seqs[-1])
        self.undone = replace(undone, seqs=rest) if rest else None

    def _withdraw(self, seq: int) -> None:
        if self.undoable and seq in self.undoable[-1].seqs:
            last = self.undoable[-1]
            kept = tuple(s for s in last.seqs if s != seq)
            self.undoable[-1:] = [UndoableLine(last.line, kept, last.kind)] if kept else []
        for records in (self.trail, self.branches, self.results, self.notes):
            _drop(records, seq)
        self._withdraw_reading(seq)
        self._withdraw_timer_change(seq)

    def _withdraw_reading(self, seq: int) -> None:
        for place in range(len(self.readings) - 1, -1, -1):
            reading = self.readings[place]
            if reading.seq == seq:
                del self.readings[place]
                return
            if any(v.seq == seq for v in reading.values):
                kept = reading.without(seq)
                assert kept is not None  # only the taking itself leaves nothing
                self.readings[place] = kept
                return

    def _withdraw_timer_change(self, seq: int) -> None:
        for label, timer in list(self.timers.items()):
            if any(c.seq == seq for c in timer.changes):
                kept = timer.without(seq)
                if kept is None:
                    del self.timers[label]
                else:
                    self.timers[label] = kept

    def _on_timer_started(self, event: e.TimerStarted, entry: Entry) -> None:
        change = Change(entry.seq, datetime.fromisoformat(event.due), "running")
        hold = self.step if event.hold else None
        self.timers[event.label] = Timer(event.label, entry.at, (change,), hold)

    def _on_timer_extended(self, event: e.TimerExtended, entry: Entry) -> None:
        due = datetime.fromisoformat(event.due)
        self._change(event.label, entry.seq, "running", due)

    def _on_timer_stopped(self, event: e.TimerStopped, entry: Entry) -> None:
        self._change(event.label, entry.seq, "stopped")

    def _on_timer_finished(self, event: e.TimerFinished, entry: Entry) -> None:
        self._change(event.label, entry.seq, "finished")

    def _change(self, label: str, seq: int, state: str, due: datetime | None = None) -> None:
        if label in self.timers:
            self.timers[label] = self.timers[label].changed(seq, state, due)

    def _on_reminded(self, event: e.Reminded, _entry: Entry) -> None:
        if event.label in self.timers:
            self.timers[event.label] = self.timers[event.label].called_out(event.mark)

    def _on_given(self, event: e.VerdictGiven, entry: Entry) -> None:
        self.results.append(
            Result(entry.seq, event.about, event.verdict, event.figures, event.step))


def _drop(records: list[Any], seq: int) -> None:
    """Remove the record of one event; those that are taken back are near the end."""
    for place in range(len(records) - 1, -1, -1):
        if records[place].seq <= seq:
            if records[place].seq == seq:
                del records[place]
            return


_CHANGES: dict[type[e.Event], Callable[[Draft, Any, Entry], None]] = {
    e.JobStarted: Draft._on_started,
    e.JobFinished: Draft._on_finished,
    e.LineHeard: Draft._on_heard,
    e.Said: Draft._on_said,
    e.Asked: Draft._on_asked,
    e.Answered: Draft._on_answered,
    e.NoteOpened: Draft._on_note_opened,
    e.NoteTaken: Draft._on_note_taken,
    e.StoodBy: Draft._on_stood_by,
    e.BackAtWork: Draft._on_back_at_work,
    e.VoiceChanged: Draft._on_voice_changed,
    e.StepOpened: Draft._on_opened,
    e.CautionAcknowledged: Draft._on_acknowledge,
    e.StepDone: Draft._on_done,
    e.StepSkipped: Draft._on_skipped,
    e.BranchTaken: Draft._on_branched,
    e.ReadingTaken: Draft._on_taken,
    e.ReadingCorrected: Draft._on_corrected,
    e.Withdrawn: Draft._on_withdrawn,
    e.TimerStarted: Draft._on_timer_started,
    e.TimerExtended: Draft._on_timer_extended,
    e.TimerStopped: Draft._on_timer_stopped,
    e.TimerFinished: Draft._on_timer_finished,
    e.Reminded: Draft._on_reminded,
    e.VerdictGiven: Draft._on_given,
}
