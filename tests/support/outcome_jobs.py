"""Jobs of every outcome, made of events: what a report has to tell apart."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from typing import Any

from msgspec.structs import replace

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.events import Entry
from fieldvoice.quantity.constants import from_microns
from fieldvoice.trade.vacuum.decay import VacuumReading, judge_decay
from support.review_job import Book, started

MINUTES = (0, 1, 2, 5, 10)
LEVELS: dict[str, tuple[int, ...]] = {
    "tight": (320, 330, 338, 355, 366), "wet": (300, 700, 1000, 1500, 1620),
    "leaking": (290, 590, 890, 1800, 3310),
}  # fmt: skip


def begin(mode: str = e.WORK, **site: str) -> Book:
    """A job at its evacuation."""
    book = Book()
    book.add(replace(started(**{"place": "Mill Lane 4", **site}), mode=mode))
    book.open("evacuation", "pull-down")
    book.read("vacuum", "310", "microns", "three ten", within=True)
    book.add(e.StepDone("pull-down", book.heard("done")))
    return book


def hold(book: Book, levels: Sequence[int], visit: int = 1, verdict: str | None = None) -> int:
    """A standing-vacuum test of ten minutes; returns the seq of its verdict."""
    book.open("evacuation", "isolate-and-hold", visit)
    line = book.heard("start the hold")
    due = (book.at + timedelta(minutes=10)).isoformat()
    book.add(e.TimerStarted("hold", 600, due, True, line))
    began, taken = book.at, []
    for minute, level in zip(MINUTES, levels, strict=True):
        wait = (began + timedelta(minutes=minute) - book.at).total_seconds()
        book.read("vacuum", str(level), "microns", str(level), hold="isolate-and-hold",
                  minute=float(minute), after=max(wait, 1.0))
        taken.append(VacuumReading(float(minute), from_microns(level)))
    book.add(e.TimerFinished("hold"))
    found = judge_decay(taken)
    figures: dict[str, Any] = found.to_dict()
    return book.add(e.VerdictGiven("decay", verdict or found.verdict.value, figures,
                                   "isolate-and-hold", line))


def job_of(name: str) -> list[Entry]:
    """One of JOBS."""
    book = begin(e.PRACTICE if name == "practice" else e.WORK)
    if name in LEVELS:
        hold(book, LEVELS[name])
    elif name == "not-yet-clear":
        hold(book, LEVELS["tight"], verdict="not-yet-clear")
    elif name in ("mended", "practice"):
        hold(book, LEVELS["leaking"])
        book.add(e.JobResumed("0.1.0"), 14 * 3600)
        hold(book, LEVELS["tight"], 2)
    if name != "open":
        early = name in ("stopped", "nothing")
        book.add(e.JobFinished("stopped-early" if early else "handed-over"))
    return book.entries


JOBS = (*LEVELS, "not-yet-clear", "mended", "practice", "stopped", "open")
