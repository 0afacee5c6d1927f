"""Okay goes on where nothing is asked; never mind withdraws a question and nothing else."""

from __future__ import annotations

import pytest

from fieldvoice.jobstate import events as e
from fieldvoice.language import intents as i
from fieldvoice.language.parser import understand
from support.bench import Bench
from support.every_sort import TEXT, at

UNSURE = 0.7


def test_okay_is_next_where_nothing_is_asked() -> None:
    bench = at(Bench(TEXT), "class")
    bench.say(i.Choose("flammable"))
    assert bench.state.step == "clear-area"
    bench.say(i.Okay())
    assert bench.state.step == "outdoor"


def test_okay_acknowledges_no_caution_and_passes_no_step_that_protects() -> None:
    bench = Bench(TEXT)
    bench.say(i.Okay())
    assert bench.events(e.CautionAcknowledged) == []
    bench.say(i.Understood())
    assert bench.say(i.Okay()) == "Say next when it is done."
    assert bench.state.step == "lock"
    bench.say(i.Next())
    assert bench.state.step == "class"


def test_okay_does_not_finish_the_job_and_takes_no_reading_for_granted() -> None:
    bench = at(Bench(TEXT), "pull")
    bench.say(i.Okay())
    assert bench.state.step == "pull"
    at(bench, "stand").say(i.Skip("no time"))
    bench.say(i.Yes())
    at(bench, "finish-up").say(i.Okay())
    assert not bench.state.finished


@pytest.mark.parametrize("word", [i.Okay(), i.NotUnderstood("?")])
def test_okay_answers_no_question_it_is_asked_again(word: i.Intent) -> None:
    bench = at(Bench(TEXT), "pull")
    bench.say(i.FinishJob())
    assert "Finish the job now?" in bench.say(word)
    assert not bench.state.finished
    assert bench.state.question is not None


def test_never_mind_withdraws_the_question_and_keeps_the_last_reading() -> None:
    bench = at(Bench(TEXT), "pull")
    bench.read(900)
    bench.say(i.FinishJob())
    assert bench.say(i.NeverMind()) == "Dropped."
    assert bench.state.question is None
    assert [str(one.now.value) for one in bench.state.readings][-1:] == ["900"]


def test_never_mind_without_a_question_takes_nothing_back() -> None:
    bench = at(Bench(TEXT), "pull")
    bench.read(900)
    assert bench.say(i.NeverMind()).startswith("Nothing was asked.")
    assert bench.events(e.Withdrawn) == []


def test_never_mind_half_heard_leaves_the_question_open() -> None:
    bench = at(Bench(TEXT), "pull")
    bench.read(9, confidence=UNSURE)
    bench.say(i.NeverMind(), confidence=UNSURE, words="never mind")
    assert bench.state.question is not None


def test_a_word_of_other_programs_teaches_ours_and_does_nothing() -> None:
    bench = at(Bench(TEXT), "pull")
    bench.read(900)
    assert bench.say(understand("scratch that")) == "Say take that back."
    assert bench.events(e.Withdrawn) == []
    bench.say(i.StandBy())
    assert bench.say(understand("scratch that")) == ""
    assert bench.say(understand("wake up")) == "Say carry on."
    assert bench.state.standing_by
    assert bench.say(understand("carry on")) == "Carrying on."
