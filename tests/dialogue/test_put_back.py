"""What was taken back can be put back, by an event that points at what it undoes."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.state import JobState
from fieldvoice.language import intents as i
from fieldvoice.review.logged_job import read_job
from support.bench import Bench
from support.every_sort import TEXT, at


@pytest.fixture
def pull() -> Bench:
    return at(Bench(TEXT), "pull")


COUNTS = (
    "procedure", "job", "facts", "ending", "step", "opened_seq", "visits", "trail", "branches",
    "acknowledged", "readings", "values_in_force", "results", "timers", "notes", "undoable",
    "open_note", "standing_by", "voice",
)


def work(state: JobState) -> dict[str, object]:
    """What counts, without what every turn changes."""
    return {name: getattr(state, name) for name in COUNTS}


def test_a_reading_taken_back_is_put_back(pull: Bench) -> None:
    pull.read(900)
    before = work(pull.state)
    pull.say(i.TakeBack())
    taken_back = pull.seq(e.Withdrawn)
    said = pull.say(i.PutBack())
    assert said == "Put back 900 microns. I need the vacuum, at most 500 microns."
    assert pull.events(e.Withdrawn)[-1].withdraws == taken_back
    assert work(pull.state) == before
    assert pull.refolded() == pull.state


def test_a_step_and_its_running_hold_are_put_back(pull: Bench) -> None:
    pull.read(412)
    pull.say(i.StartHold())
    pull.wait(seconds=30)
    before = work(pull.state)
    pull.say(i.Back())
    assert pull.state.step == "pull"
    pull.say(i.PutBack())
    assert pull.state.step == "stand"
    assert pull.state.hold is not None
    assert pull.state.hold.running
    assert work(pull.state) == before
    assert pull.refolded() == pull.state


@pytest.mark.parametrize(
    "intent",
    [i.Next(), i.Skip("no time"), i.StartTimer(timedelta(minutes=5), "oil"),
     i.Note("a note"), i.Choose("break-with-nitrogen"), i.Correction(Decimal(950))],
)  # fmt: skip
def test_whatever_can_be_taken_back_can_be_put_back(pull: Bench, intent: i.Intent) -> None:
    pull.read(900)
    pull.say(intent)
    before = work(pull.state)
    pull.say(i.TakeBack())
    pull.say(i.WhereAreWe())
    pull.say(i.PutBack())
    assert work(pull.state) == before


def test_what_was_put_back_can_be_taken_back_again(pull: Bench) -> None:
    pull.read(900)
    for _ in range(3):
        assert "Took back 900 microns." in pull.say(i.TakeBack())
        assert pull.state.last("vacuum") is None
        assert "Put back 900 microns." in pull.say(i.PutBack())
        assert pull.state.last("vacuum") is not None


def test_after_something_else_was_done_nothing_is_put_back(pull: Bench) -> None:
    assert "Nothing was taken back" in pull.say(i.PutBack())
    pull.read(900)
    pull.say(i.TakeBack())
    pull.read(800)
    assert "Nothing was taken back" in pull.say(i.PutBack())
    assert [t.now.value for t in pull.state.readings if t.quantity == "vacuum"] == [Decimal(800)]


def test_a_correction_that_reopened_a_step_is_no_take_back(pull: Bench) -> None:
    pull.read(412)
    pull.say(i.Correction(Decimal(900)))
    assert pull.state.step == "pull"
    assert "Nothing was taken back" in pull.say(i.PutBack())


def test_the_record_of_the_job_shows_what_was_put_back_as_counting(pull: Bench) -> None:
    pull.read(900)
    pull.say(i.TakeBack())
    history = read_job(pull.log).state.history
    assert history.readings[-1].seq in history.withdrawn
    pull.say(i.PutBack())
    history = read_job(pull.log).state.history
    assert history.readings[-1].seq not in history.withdrawn


def test_the_record_of_the_job_shows_a_hold_that_was_put_back_as_running(pull: Bench) -> None:
    pull.read(412)
    pull.say(i.StartHold())
    pull.say(i.Back())
    assert read_job(pull.log).state.timers["hold"].state == "stopped"
    pull.say(i.PutBack())
    assert read_job(pull.log).state.timers["hold"].state == "running"
