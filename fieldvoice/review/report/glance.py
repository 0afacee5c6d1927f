"""The few facts of a unit that a reader of the report wants first."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fieldvoice.jobstate.timers import say_duration
from fieldvoice.review.figures import headline
from fieldvoice.review.report import lists, out_of_turn
from fieldvoice.review.wording import Context, name_words, said_value, tone

RESULTS = ("nitrogen", "decay")  # those that a reader wants first


@dataclass(frozen=True)
class Box:
    """One of the few facts that a reader wants first."""

    label: str
    value: str
    more: str = ""
    tone: str = ""


def boxes(context: Context) -> Iterator[Box]:
    """Ending, results, what was out of the ordinary, and how much was done."""
    state = context.state
    early = state.ending in (None, "stopped-early")
    ending = "Not closed" if state.ending is None else name_words(state.ending)
    yield Box("Ending", ending, tone="open" if early else "")
    for about in RESULTS:
        given = [result for result in state.results if result.about == about]
        name = headline(about, "").rstrip(": ")
        elsewhere = [test for test in state.tests_carried if test.about == about]
        if given:
            verdict = given[-1].verdict
            yield Box(name, name_words(verdict), str(given[-1].figures.get("own_length") or ""),
                      tone(verdict))
        elif elsewhere:
            test = elsewhere[-1]
            yield Box(name, out_of_turn.carried_words(test),
                      f"{out_of_turn.said_day(test.day)}, {test.by}; not measured here", "open")
    over = [reading.now for reading in state.readings if reading.now.over_plate is not None]
    if over:
        worst = max(over, key=lambda value: value.si)
        yield Box("Overpressure", said_value(worst), f"over the plate, {worst.over_plate}", "bad")
    for timer in lists.cut_short(context):
        left = say_duration(timer.remaining(timer.ended_at or timer.due))
        yield Box(timer.label.capitalize(), f"Cut short by {left}", timer.reason or "", tone="bad")
    if state.history.reopenings:
        last = state.history.reopenings[-1]
        yield Box("Opened again", context.clock(last.at), last.reason, "open")
    vacuums = [reading.now for reading in state.readings
               if reading.quantity == "vacuum" and not reading.now.unfit]
    if vacuums:
        yield Box("Deepest vacuum", said_value(min(vacuums, key=lambda value: value.si)))
    standings = [state.history.standing(visit) for visit in state.history.visits]
    yield Box("Steps done", f"{standings.count('done'):,}", _undone(context))
    yield Box("Readings", f"{len(state.readings):,}", _changed(context))


def _undone(context: Context) -> str:
    """How many steps were left open, opened or not, and how many count as done elsewhere."""
    state = context.state
    counts = ((len(state.left_open), "left open"), (len(state.carried), "carried over"),
              (len(lists.skipped(context)), "skipped"))
    return ", ".join(f"{number} {what}" for number, what in counts if number)


def _changed(context: Context) -> str:
    """How many readings were corrected and how many withdrawn."""
    history = context.state.history
    gone = [reading.seq in history.withdrawn for reading in history.readings]
    corrected = sum(len(reading.values) > 1 and not withdrawn
                    for reading, withdrawn in zip(history.readings, gone, strict=True))
    counts = ((corrected, "corrected"), (sum(gone), "withdrawn"))
    return ", ".join(f"{number} {what}" for number, what in counts if number)
