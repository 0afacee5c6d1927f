"""The events of a job put in order for a reader."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.events import Entry
from fieldvoice.review.history import Digest, Done, Measured, TimerRun, Version, Visit


def digest(entries: Sequence[Entry]) -> Digest:
    """Put a job's entries in order. Linear; unknown references are left out, never fatal."""
    reader = _Reader()
    for entry in entries:
        reader.take(entry)
    return reader.found


class _Reader:
    def __init__(self) -> None:
        self.found = Digest()
        self.entries: dict[int, Entry] = {}
        self.by_seq: dict[int, Any] = {}  # what an event became
        self.latest: dict[str, Visit] = {}  # newest visit of each step
        self.open: Visit | None = None
        self.running: dict[str, TimerRun] = {}
        self.taken_back: dict[int, tuple[Any, str]] = {}  # withdrawal -> what, its state before
        self.stopped_by: dict[int | None, tuple[str, TimerRun]] = {}  # by the line that did it

    def take(self, entry: Entry) -> None:
        self.found.first_at = self.found.first_at or entry.at
        self.found.last_at = entry.at
        self.entries[entry.seq] = entry
        method = getattr(self, "on_" + entry.event.kind.replace("-", "_"), None)
        if method is not None:
            method(entry, entry.event)

    def on_job_started(self, _entry: Entry, event: e.JobStarted) -> None:
        self.found.started = event

    def on_job_resumed(self, entry: Entry, _event: e.JobResumed) -> None:
        self.found.resumed.append(entry)

    def on_job_finished(self, entry: Entry, event: e.JobFinished) -> None:
        self.found.finished = event
        if self.open is not None and self.open.state == "open":
            self.open.state, self.open.closed_at = "left", entry.at

    def on_line_heard(self, entry: Entry, _event: e.LineHeard) -> None:
        self.found.lines[entry.seq] = entry

    def on_said(self, _entry: Entry, event: e.Said) -> None:
        if event.tone == "prompt" and self.open is not None and self.open.state == "open":
            self.open.prompts.append(event.text)

    def on_note_taken(self, entry: Entry, event: e.NoteTaken) -> None:
        self._deed(self.found.notes, entry, event.line)

    def on_step_opened(self, entry: Entry, event: e.StepOpened) -> None:
        before = self.open
        if before is not None and before.state == "open":
            if (before.step, before.visit) == (event.step, event.visit):
                return  # the same visit goes on, as after an interruption
            before.state, before.closed_at = "left", entry.at
        visit = Visit(entry.seq, entry.at, event.stage, event.step, event.visit)
        self.found.visits.append(visit)
        self.open = self.latest[event.step] = visit

    def on_step_done(self, entry: Entry, event: e.StepDone) -> None:
        self._close(entry, event.step, "done", event.line)

    def on_step_skipped(self, entry: Entry, event: e.StepSkipped) -> None:
        self._close(entry, event.step, "skipped", event.line, event.reason)

    def _close(
        self, entry: Entry, step: str, state: str, line: int | None, reason: str = ""
    ) -> None:
        visit = self.latest.get(step)
        if visit is None:
            return
        visit.state, visit.closed_at, visit.line, visit.reason = state, entry.at, line, reason
        self.by_seq[entry.seq] = visit

    def on_caution_acknowledged(self, entry: Entry, event: e.CautionAcknowledged) -> None:
        self._deed(self.found.cautions, entry, event.line, event.step)

    def on_branch_taken(self, entry: Entry, event: e.BranchTaken) -> None:
        self._deed([], entry, event.line, event.step)

    def on_verdict_given(self, entry: Entry, event: e.VerdictGiven) -> None:
        self._deed(self.found.results, entry, event.line, event.step)

    def _deed(
        self, where: list[Done], entry: Entry, line: int | None, step: str | None = None
    ) -> None:
        deed = Done(entry.seq, entry.at, entry.event, line)
        where.append(deed)
        self.by_seq[entry.seq] = deed
        if step is not None and step in self.latest:
            self.latest[step].deeds.append(deed)

    def on_reading_taken(self, entry: Entry, event: e.ReadingTaken) -> None:
        version = Version(
            entry.seq, entry.at, event.value, event.unit, event.si, event.within, event.line
        )
        reading = Measured(
            entry.seq, entry.at, event.quantity, event.si_unit, event.step, event.hold,
            event.minute, [version],
        )
        self.found.readings.append(reading)
        self.by_seq[entry.seq] = reading
        if event.step in self.latest:
            self.latest[event.step].readings.append(reading)

    def on_reading_corrected(self, entry: Entry, event: e.ReadingCorrected) -> None:
        reading = self.by_seq.get(event.corrects)
        if not isinstance(reading, Measured):
            return
        version = Version(
            entry.seq, entry.at, event.value, event.unit, event.si, event.within, event.line
        )
        reading.versions.append(version)
        self.by_seq[entry.seq] = version

    def on_withdrawn(self, entry: Entry, event: e.Withdrawn) -> None:
        what = self.by_seq.get(event.withdraws)
        if event.withdraws in self.entries:
            self.found.withdrawals.append((entry, self.entries[event.withdraws]))
        if event.withdraws in self.taken_back:
            self._put_back(event.withdraws)
        elif isinstance(what, Visit | TimerRun):
            self.taken_back[entry.seq] = (what, what.state)
            what.state = "taken back"
        elif what is not None:
            self.taken_back[entry.seq] = (what, "")
            what.withdrawn_at = entry.at

    def _put_back(self, withdrawal: int) -> None:
        """The withdrawal itself is withdrawn: what it took counts again."""
        what, state = self.taken_back[withdrawal]
        if isinstance(what, Visit | TimerRun):
            what.state = state
        else:
            what.withdrawn_at = None
        line = getattr(self.entries[withdrawal].event, "line", None)
        stopped = self.stopped_by.pop(line, None)
        if stopped is not None:
            label, run = stopped
            run.state, run.ended_at = "running", None
            self.running[label] = run

    def on_timer_started(self, entry: Entry, event: e.TimerStarted) -> None:
        step = None if self.open is None else self.open.step
        run = TimerRun(
            entry.seq, entry.at, event.label, event.seconds, event.hold, event.line, step
        )
        self.found.timers.append(run)
        self.running[event.label] = self.by_seq[entry.seq] = run

    def on_timer_extended(self, _entry: Entry, event: e.TimerExtended) -> None:
        if event.label in self.running:
            self.running[event.label].added += event.seconds

    def on_timer_stopped(self, entry: Entry, event: e.TimerStopped) -> None:
        if event.label in self.running:
            self.stopped_by[event.line] = (event.label, self.running[event.label])
        self._end(entry, event.label, "stopped")

    def on_timer_finished(self, entry: Entry, event: e.TimerFinished) -> None:
        self._end(entry, event.label, "finished")

    def _end(self, entry: Entry, label: str, state: str) -> None:
        run = self.running.pop(label, None)
        if run is not None:
            run.state, run.ended_at = state, entry.at
