"""A job for the review tests, made of events: what the tests need to find again."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.events import Entry
from fieldvoice.jobstate.state import JobState
from fieldvoice.quantity.constants import from_microns
from fieldvoice.quantity.resolve_reading import resolve
from fieldvoice.review.logged_job import read_job
from fieldvoice.review.report import report_html
from fieldvoice.trade.vacuum.decay import VacuumReading, judge_decay

PROCEDURE = '''procedure line-set "Evacuation of a line set"
limit target = 400 microns source "common practice"
limit decay-limit = 500 microns source "equipment instructions"
limit decay-hold = 10 min source "common practice"
limit sweep = 10 psig source "of a step never worked on"
caution no-oxygen "Never oxygen: dry nitrogen only." acknowledge
stage tightness "Nitrogen test"
step bubble-test
  say "Bubble every joint."
  caution no-oxygen
stage evacuation "Evacuation"
step sweep-in
  say "Let nitrogen in."
  read nitrogen-pressure at most sweep
step pull-down
  say "Run the pump down to {limit.target}."
  read vacuum at most target
step isolate-and-hold
  say "Isolate and wait."
  read vacuum
  hold decay-hold "standing vacuum" ask vacuum at 0 1 2 5 10 min judge decay decay-limit
  end handed-over "Done."
'''
START = datetime(2026, 5, 14, 14, 2, 0, tzinfo=UTC)


def page_of(entries: Sequence[Entry], procedure_text: str = PROCEDURE, **more: Any) -> str:
    """The report of a log."""
    return report_html(read_job(entries, procedure_text), **{"version": "inspector", **more})


def state_of(entries: Sequence[Entry]) -> JobState:
    """The state that a log is folded into, for the review of it."""
    return read_job(entries, PROCEDURE).state


class Book:
    """Writes events one after another, as the session would."""

    def __init__(self, start: datetime = START) -> None:
        self.at = start
        self.entries: list[Entry] = []
        self.step = ""

    def add(self, event: e.Event, after: float = 1.0) -> int:
        """Append an event some seconds after the one before; returns its seq."""
        self.at += timedelta(seconds=after)
        self.entries.append(Entry(len(self.entries) + 1, self.at, event))
        return len(self.entries)

    def heard(self, words: str, *, source: str = "voice", after: float = 20.0, **more) -> int:
        """A line comes in."""
        spoken = source != "typed"
        facts = {"confidence": 0.93, "clip": f"clips/{len(self.entries):04d}.wav"} if spoken else {}
        line = e.LineHeard(words, source, {"intent": "reading"}, **{**facts, **more})
        return self.add(line, after)

    def open(self, stage: str, step: str, visit: int = 1) -> int:
        """A step is opened."""
        self.step = step
        return self.add(e.StepOpened(stage, step, visit))

    def read(self, quantity: str, value: str, unit: str, words: str, **more) -> int:
        """A reading is taken; returns its seq."""
        keep = {k: more.pop(k) for k in ("hold", "minute", "within") if k in more}
        line = self.heard(words, **more)
        r = resolve(Decimal(value), unit, quantity)
        taken = e.ReadingTaken(quantity, value, r.unit, r.si, r.si_unit, self.step, line, **keep)
        return self.add(taken, 0.1)

    def correct(self, seq: int, value: str, unit: str, quantity: str, words: str) -> int:
        """A reading is corrected."""
        line = self.heard(words)
        r = resolve(Decimal(value), unit, quantity)
        return self.add(e.ReadingCorrected(seq, value, r.unit, r.si, r.si_unit, line), 0.1)


def started(**site: str) -> e.JobStarted:
    """The first event."""
    digest = hashlib.sha256(PROCEDURE.encode()).hexdigest()
    return e.JobStarted("Unit 12 <b>", "line-set", digest, "0.1.0", site)


def whole_job() -> list[Entry]:
    """Everything that a report must show, once."""
    book = Book()
    book.add(started(customer="Miller & Daughter", altitude="1000 ft"))
    book.open("tightness", "bubble-test")
    book.add(e.CautionAcknowledged("bubble-test", "no-oxygen", book.heard("understood")))
    book.add(e.StepSkipped("bubble-test", "tested yesterday", book.heard("tested yesterday")))
    book.open("evacuation", "pull-down")
    book.add(e.Said("Evacuation.", "prompt"), 0.1)
    book.add(e.Said("Run the pump down to 400 microns.\n  skip: later", "prompt"), 0.1)
    timer = e.TimerStarted("pump", 1800, "2026-05-14T14:40:00+00:00", False, book.heard("timer"))
    book.add(timer)
    book.read("vacuum", "5000", "microns", "five thousand", within=False, after=300)
    wrong = book.read("vacuum", "4120", "microns", "forty one twenty", within=False, after=300)
    book.correct(wrong, "412", "microns", "vacuum", "correction four twelve")
    book.read("vacuum", "310", "microns", "three ten", within=True, after=600, source="typed")
    book.add(e.NoteTaken("Oil <milky>", ["clips/note.wav"], book.heard("note")))
    book.add(e.StepDone("pull-down", book.heard("done")))
    _hold(book)
    book.add(e.JobResumed("0.1.0"), 100)
    book.add(e.JobFinished("handed-over"))
    return book.entries


def _hold(book: Book) -> None:
    book.open("evacuation", "isolate-and-hold")
    line = book.heard("start the hold")
    began = book.at
    book.add(e.TimerStarted("hold", 600, (began + timedelta(minutes=10)).isoformat(), True, line))
    readings = []
    for minute, level in ((0, 320), (1, 330), (2, 338), (5, 355), (10, 366)):
        wait = (began + timedelta(minutes=minute) - book.at).total_seconds()
        book.read("vacuum", str(level), "microns", f"{level}", within=True,
                  hold="isolate-and-hold", minute=float(minute), after=max(wait, 1.0))
        readings.append(VacuumReading(float(minute), from_microns(level)))
        if minute == 5:
            slip = book.read("vacuum", "37", "microns", "thirty seven", hold="isolate-and-hold",
                             minute=6.0, after=30)
            book.add(e.Withdrawn(slip, book.heard("take that back")))
    book.add(e.TimerFinished("hold"))
    result = judge_decay(readings, volume_m3=0.00216, ambient_c=22)
    book.add(e.VerdictGiven("decay", result.verdict.value, result.to_dict(), "isolate-and-hold"))
    book.add(e.StepDone("isolate-and-hold", book.heard("done")))
