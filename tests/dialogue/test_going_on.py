"""Work that goes on after a night: what a tired technician is told, in few words."""

from datetime import timedelta

import pytest

from fieldvoice.dialogue import assistant
from fieldvoice.dialogue.turn import Outcome
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.state import JobState, fold
from fieldvoice.language.parser import understand
from fieldvoice.procedure.check import load
from fieldvoice.procedure.reader import shipped
from support.bench import Bench
from support.small_procedure import TEXT

NIGHT = timedelta(hours=13, minutes=20)


@pytest.fixture
def pull() -> Bench:
    bench = Bench(TEXT)
    say(bench, "understood")
    say(bench, "410 microns")
    return bench


def say(bench: Bench, words: str) -> str:
    return bench.say(understand(words), words=words)


def after(bench: Bench, span: timedelta) -> Outcome:
    bench.now += span
    return assistant.resume(bench.state, bench.now)


def test_after_a_night_it_says_what_was_done_where_it_stands_and_the_age_of_readings(
    pull: Bench,
) -> None:
    say(pull, "note: valve stiff")
    first = after(pull, NIGHT).replies[0]
    assert first.told.startswith("Job bench goes on. ")
    assert "Last vacuum 410 microns, 13 hours 20 minutes ago." in first.told
    assert "Stopped 13 hours 20 minutes ago: 1 step done, 1 note." in first.told
    assert first.told.count(". ") <= 4
    assert "\n  vacuum 410 microns, 13 hours" in first.text


def test_after_two_days_the_days_are_told(pull: Bench) -> None:
    assert "Stopped 3 days ago" in after(pull, timedelta(days=3, hours=2)).replies[0].told


def test_a_short_break_is_not_worth_a_summary(pull: Bench) -> None:
    assert "Stopped" not in after(pull, timedelta(minutes=5)).replies[0].text


def test_what_runs_and_how_a_hold_ended_meanwhile_is_told(pull: Bench) -> None:
    say(pull, "start a twenty hour timer")
    assert "6 hours 40 minutes left." in after(pull, NIGHT).replies[0].told


def test_practice_says_that_it_is_practice() -> None:
    bench = Bench(TEXT)
    bench.log[0] = e.Entry(1, bench.now, e.JobStarted("bench", "small", "", "0", mode=e.PRACTICE))
    state = fold(JobState.empty(bench.procedure), bench.log)
    outcome = assistant.resume(state, bench.now + NIGHT)
    assert outcome.replies[0].told.startswith("Practice job bench goes on.")


def at_cautions() -> Bench:
    """At the first step with more than one caution; all that ask for a word have it."""
    bench = Bench(load(shipped("nitrogen-test")), {"refrigerant": "R-410A"})
    while bench.state.open_step is not None and len(bench.state.open_step.cautions) < 2:
        say(bench, "understood" if bench.state.unacknowledged() else "skip because practice")
        if bench.state.question is not None:
            say(bench, "yes")
    while bench.state.unacknowledged():
        say(bench, "understood")
    return bench


@pytest.mark.parametrize("break_", [timedelta(minutes=20), NIGHT])
@pytest.mark.parametrize("depth", ["every-step", "limits-only"])
def test_cautions_are_said_whole_after_long_and_in_a_sentence_where_they_are_fresh(
    break_: timedelta, depth: str
) -> None:
    bench = at_cautions()
    bench.happen(e.DepthChanged(depth, []))
    step = bench.state.open_step
    assert step is not None
    replies = after(bench, break_).replies
    given = [reply for reply in replies if reply.tone == "caution"]
    whole = [bench.state.procedure.cautions[name].text for name in step.cautions]
    assert [reply.text for reply in given] == whole
    known = [name for name in step.cautions if name in bench.state.acknowledged]
    assert known
    for name, reply in zip(step.cautions, given, strict=True):
        short = name in known and break_ != NIGHT
        assert reply.told == (reply.text.split(". ")[0].rstrip(".") + "." if short else reply.text)


def test_a_caution_that_waits_for_its_word_is_said_whole(pull: Bench) -> None:
    fresh = Bench(TEXT)
    waiting = fresh.state.unacknowledged()
    assert waiting
    told = [reply.told for reply in after(fresh, NIGHT).replies if reply.tone == "caution"]
    assert fresh.state.procedure.cautions[waiting[0]].text in told[0]
