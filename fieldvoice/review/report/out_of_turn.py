"""What was not worked in turn: tests held elsewhere, steps left open, what was added after the end.

A test that was carried over is never shown as measured here.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from itertools import groupby

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.records import CarriedTest
from fieldvoice.review.event_words import describe
from fieldvoice.review.figures import headline
from fieldvoice.review.report.lists import Row
from fieldvoice.review.wording import Context, name_words

_ADDED = (  # what counts as added to a job that was closed
    e.ReadingTaken, e.ReadingCorrected, e.NoteTaken, e.Withdrawn, e.StepDone, e.StepSkipped,
    e.Jumped, e.TestCarried, e.VerdictGiven, e.TimerStarted, e.JobFinished,
)


def carried_tests(context: Context) -> list[Row]:
    """Tests of another day or another job: what, how it ended, when, by whom, from where."""
    history = context.state.history
    return [Row((context.clock(t.at), headline(t.about, t.verdict)
                 + (", taken back" if t.seq in history.withdrawn else ""),
                 said_day(t.day), t.by, f"job {t.source}" if t.source else "as told",
                 ", ".join(f"{name_words(k)} {v}" for k, v in t.figures.items())),
                context.heard(t.line)) for t in history.tests_carried]


def carried_steps(context: Context) -> list[Row]:
    """Steps that count without having been worked on here: why, those of one reason together."""
    counted = [c for c in context.state.history.carried
               if context.state.carried.get(c.step) == c.why and c.seq not in
               context.state.history.withdrawn]
    return [Row((context.clock(first.at), ", ".join(name_words(c.step) for c in group), first.why),
                context.heard(first.line))
            for _, steps in groupby(counted, key=lambda c: (c.why, c.line))
            for group in [list(steps)] for first in group[:1]]


def said_day(day: str) -> str:
    """A day as the report writes it; as it stands in the log where it is none."""
    try:
        found = date.fromisoformat(day)
    except ValueError:
        return day
    return f"{found.day} {found:%B %Y}"


def carried_words(test: CarriedTest) -> str:
    """A carried-over test for the head of the report."""
    return f"{name_words(test.verdict)}, carried over"


def left_open(context: Context) -> list[Row]:
    """Steps left undone and not done since, the protective ones marked, each with its reason."""
    procedure = context.state.procedure
    rows = []
    for left in context.state.left_open:
        step = procedure.by_name.get(left.step)
        gate = step is not None and procedure.protects(step)
        rows.append(Row((context.clock(left.at), name_words(left.step),
                         "protective" if gate else "", left.reason), context.heard(left.line)))
    return rows


def left_open_together(context: Context) -> list[Row]:
    """The same for a customer: steps of one time and reason are one row."""
    found: dict[tuple[str, str, str], list[str]] = {}
    for row in left_open(context):
        time, step, kind, reason = row.cells
        found.setdefault((time, kind, reason), []).append(step)
    return [Row((time, "; ".join(steps), kind, reason), None)
            for (time, kind, reason), steps in found.items()]


def reopenings(context: Context) -> Iterator[Row]:
    """When and why the job was opened again, and what was added since."""
    found = context.state.history.reopenings
    for place, opened in enumerate(found):
        end = found[place + 1].seq if place + 1 < len(found) else None
        added = [describe(entry.event) for entry in context.job.entries
                 if entry.seq > opened.seq and (end is None or entry.seq < end)
                 and isinstance(entry.event, _ADDED)]
        yield Row((context.clock(opened.at), name_words(opened.ending), opened.reason,
                   "; ".join(added) or "nothing"), None)
