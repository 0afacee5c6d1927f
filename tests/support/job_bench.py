"""A job of several units on the test bench: every turn's entries are folded anew, as from a log."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime, timedelta

from fieldvoice.devices.joblog.lines import FIRST_PREV, write_line
from fieldvoice.dialogue.assistant import Heard, Reply, Tick
from fieldvoice.dialogue.units import handle
from fieldvoice.dialogue.units.begin_unit import FindProcedure
from fieldvoice.dialogue.units.round import Outcome
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.job import Job, fold_job, unit_of
from fieldvoice.jobstate.state import JobState
from fieldvoice.language.parser import sounds_like_a_range, understand
from fieldvoice.procedure.check import load
from fieldvoice.procedure.model import Procedure
from support.bench import START


class JobBench:
    """Drives a job with lines as they are said, and a clock moved by hand."""

    def __init__(
        self, procedure: Procedure | str, site: Mapping[str, str] | None = None,
        find: FindProcedure | None = None, start: datetime | None = None,
    ) -> None:
        first = load(procedure) if isinstance(procedure, str) else procedure
        self.empty = Job.of(JobState.empty(first))
        self.job, self.now, self.find = self.empty, start or START, find
        self.log: list[e.Entry] = []
        self.replies: list[Reply] = []  # of the last turn
        self.take_in(handle.begin(self.job, self.now, "bench", dict(site or {})))

    def take_in(self, outcome: Outcome) -> None:
        """Log an outcome and fold it anew: the job that came with it must be the same."""
        for procedure in outcome.keep:
            self.empty = Job(self.empty.states, {
                **self.empty.procedures, procedure.sha256: procedure})
        self.log += outcome.entries
        before = Job(self.job.states, self.empty.procedures, self.job.course)
        self.job = fold_job(before, outcome.entries)
        assert self.job == outcome.job
        self.replies = list(outcome.replies)

    def say(self, words: str, *, after: float = 3.0, confidence: float | None = None) -> str:
        """A line comes in, typed unless it was heard; returns all replies as one text."""
        self.now += timedelta(seconds=after)
        typed = confidence is None
        heard = Heard(understand(words, typed=typed), words, "typed" if typed else "voice",
                      confidence, None, not typed and sounds_like_a_range(words))
        self.hear(heard)
        return self.text

    def hear(self, heard: Heard) -> Outcome:
        """A line comes in as it was heard and understood."""
        outcome = handle.handle(self.job, heard, self.now, self.find)
        self.take_in(outcome)
        return outcome

    def happen(self, event: e.Event) -> None:
        """An event of the first unit without a line that brought it."""
        entry = e.Entry(self.job.course.next_seq, self.now, event)
        self.log.append(entry)
        self.job = fold_job(self.job, [entry])

    def tick(self, after: float = 0.0) -> None:
        """Time passes, then one tick."""
        self.now += timedelta(seconds=after)
        self.take_in(handle.handle(self.job, Tick(), self.now))

    def wait(self, minutes: float = 0.0, seconds: float = 0.0) -> str:
        """Time passes, a tick a second; returns what was said meanwhile."""
        said: list[Reply] = []
        for _ in range(round(60 * minutes + seconds)):
            self.tick(1)
            said += self.replies
        self.replies = said
        return self.text

    def resume(self) -> str:
        """The process starts again: the job is read back from the bytes of its log."""
        self.job = self.refolded()
        self.take_in(handle.resume(self.job, self.now))
        return self.text

    def refolded(self) -> Job:
        """The job as a fresh process would have it."""
        return fold_job(self.empty, [_read_back(entry) for entry in self.log])

    @property
    def text(self) -> str:
        """All replies of the last turn."""
        return " ".join(r.spoken or r.text for r in self.replies)

    def events(self, kind: type[e.Event], unit: str | None = None) -> list[e.Event]:
        """Every event of one kind, of one unit or of all."""
        return [v.event for v in self.log
                if isinstance(v.event, kind) and unit in (None, unit_of(v))]


def _read_back(entry: e.Entry) -> e.Entry:
    found = json.loads(write_line(entry, 0.0, FIRST_PREV))
    event = e.Event.from_dict(found["kind"], found["data"])
    assert event == entry.event, "an event does not come back from the log as it was"
    return e.Entry(found["seq"], entry.at, event, found.get("unit"))
