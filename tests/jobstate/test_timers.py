"""Timers and holds as values: due times, marks, durations in words."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest

from fieldvoice.jobstate import timers
from fieldvoice.jobstate.timers import Change, Timer
from fieldvoice.procedure.step import Hold
from support.bench import START


def _timer(minutes: float = 10, label: str = "hold") -> Timer:
    due = START + timedelta(minutes=minutes)
    return Timer(label, (Change(1, START, "running", due, minutes * 60),))


HOLD = Hold("hold-time", "standing", "vacuum", (Decimal(0), Decimal(2), Decimal(5)), Decimal(5))


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0, "0 seconds"), (1, "1 second"), (59.6, "1 minute"), (90, "1 minute 30 seconds"),
        (600, "10 minutes"), (3600, "1 hour"), (4500, "1 hour 15 minutes"), (3601, "1 hour"),
    ],
)
def test_durations_are_said_as_people_say_them(seconds: float, words: str) -> None:
    assert timers.say_duration(timedelta(seconds=seconds)) == words


@pytest.mark.parametrize(
    ("passed", "last_reading", "mark"),
    [
        (0.0, -1.0, 0.0),
        (1.9, 0.0, None),  # minute 2 has not come
        (2.0, 0.0, 2.0),
        (2.0, 1.7, None),  # read 18 seconds before the mark: that answers it
        (2.0, 1.5, 2.0),
        (9.9, 2.0, 5.0),  # only the newest mark that was missed is called
        (10.0, 2.0, 5.0),  # the end of the hold is no mark
    ],
)
def test_the_newest_unanswered_mark_is_called(
    passed: float, last_reading: float, mark: float | None
) -> None:
    now = START + timedelta(minutes=passed)
    assert timers.mark_to_call(HOLD, _timer(), now, last_reading) == mark


def test_marks_go_on_at_their_interval_in_a_longer_hold() -> None:
    assert timers.marks(HOLD, _timer(21)) == [0, 2, 5, 10, 15, 20]


def test_a_withdrawn_change_leaves_the_timer_as_it_was() -> None:
    later = START + timedelta(minutes=12)
    longer = _timer().changed(Change(7, START, "running", later, 120))
    stopped = longer.changed(Change(9, later, "stopped"))
    assert (longer.due, longer.seconds, longer.ended_at) == (later, 720, None)
    assert (stopped.due, stopped.seconds, stopped.ended_at) == (later, 720, later)
    assert longer.without({7}) == _timer()
    assert stopped.without({9}) == longer
    assert stopped.without({7}).due == START + timedelta(minutes=10)
    assert stopped.without({1}) is None


def test_what_ran_out_comes_in_the_order_in_which_it_ran_out() -> None:
    late, early, still = _timer(5, "b"), _timer(3, "a"), _timer(60, "c")
    found = timers.due([late, early, still], START + timedelta(minutes=6))
    assert [t.label for t in found] == ["a", "b"]


@pytest.mark.parametrize(
    ("wanted", "label"),
    [(None, "timer"), ("nitrogen", "nitrogen 2"), ("hold", "timer"), ("oil", "oil")],
)
def test_labels_are_told_apart(wanted: str | None, label: str) -> None:
    assert timers.free_label(wanted, [_timer(5, "nitrogen"), _timer(5, "hold")]) == label
