"""Notes, standing by, and the voice."""

from __future__ import annotations

from datetime import timedelta

import pytest

from fieldvoice.jobstate import events as e
from fieldvoice.language import intents as i
from support.bench import Bench
from support.every_sort import TEXT, at


@pytest.fixture
def pull() -> Bench:
    return at(Bench(TEXT), "pull")


def test_what_is_said_in_a_note_is_kept_and_does_nothing_else(pull: Bench) -> None:
    pull.say(i.StartNote())
    assert pull.state.expects_free_text
    assert pull.say(i.NotUnderstood("?"), words="left valve is", confidence=0.1, clip="a.wav") == ""
    assert pull.say(i.Next(), words="done badly", confidence=0.9, clip="b.wav") == ""
    assert pull.say(i.EndNote()) == "Note kept."
    note = pull.events(e.NoteTaken)[-1]
    assert (note.text, note.clips) == ("left valve is done badly", ["a.wav", "b.wav"])
    assert pull.state.step == "pull"
    assert pull.state.open_note is None


def test_an_open_note_is_told_of_after_a_restart(pull: Bench) -> None:
    pull.say(i.StartNote())
    pull.say(i.NotUnderstood("?"), words="first half")
    assert "A note is open." in pull.resume()
    pull.say(i.NotUnderstood("?"), words="second half")
    pull.say(i.EndNote())
    assert pull.events(e.NoteTaken)[-1].text == "first half second half"


def test_ending_no_note_is_refused_and_a_typed_note_is_kept(pull: Bench) -> None:
    assert pull.say(i.EndNote()) == "No note is open. Say take a note."
    assert pull.say(i.Note("cap seat is scratched")) == "Note kept."
    assert pull.state.notes[-1].text == "cap seat is scratched"


def test_standing_by_everything_but_the_way_back_is_ignored(pull: Bench) -> None:
    assert pull.say(i.StandBy()) == "Standing by. Say carry on."
    assert pull.read(900, "microns") == ""
    assert pull.say(i.FinishJob()) == ""
    assert [v.outcome for v in pull.events(e.LineHeard)[-2:]] == ["ignored", "ignored"]
    assert pull.say(i.BackToWork()) == "Carrying on."
    pull.read(900, "microns")
    assert pull.state.last("vacuum") is not None


@pytest.mark.parametrize("change", ["louder", "softer", "slower", "faster", "quiet", "aloud"])
def test_the_voice_can_be_changed(pull: Bench, change: str) -> None:
    assert pull.say(i.ChangeVoice(change))
    assert pull.state.voice == (change,)


def test_a_question_is_asked_again_after_a_restart(pull: Bench) -> None:
    pull.read(530)
    pull.read(4120)
    assert "4,120 microns? Say yes, no, or the value again." in pull.resume()


def test_finishing_is_asked_again_after_a_restart(pull: Bench) -> None:
    pull.say(i.FinishJob())
    assert "Finish the job now? Say yes or no." in pull.resume()
    pull.say(i.Yes())
    assert pull.state.finished


def test_a_reason_is_asked_for_again_after_a_restart(pull: Bench) -> None:
    pull.say(i.Skip())
    assert "What is the reason to skip pull? Or say no." in pull.resume()


def test_a_value_that_waited_too_long_for_its_yes_is_dropped_aloud(pull: Bench) -> None:
    pull.read(530)
    pull.read(4120)
    pull.now += timedelta(hours=14)
    assert "4,120 microns was not confirmed and is dropped." in pull.resume()
    assert pull.state.question is None
    assert pull.say(i.Yes()).startswith("Nothing was asked.")


def test_an_open_question_waits_while_standing_by_and_is_asked_again_after(pull: Bench) -> None:
    pull.say(i.FinishJob())
    pull.say(i.StandBy())
    assert "Finish" not in pull.resume()
    assert pull.say(i.BackToWork()) == "Carrying on. Finish the job now? Say yes or no."


STILL = "Still standing by. Say carry on."


def test_standing_by_is_reminded_of_every_ten_minutes_each_time_once(pull: Bench) -> None:
    pull.say(i.StandBy())
    assert pull.wait(minutes=9, seconds=59) == ""
    assert pull.wait(seconds=1) == STILL
    assert pull.wait(seconds=1) == ""
    assert pull.wait(minutes=9, seconds=58) == ""
    assert pull.wait(seconds=1) == STILL
    pull.say(i.BackToWork())
    assert pull.wait(minutes=30) == ""


def test_an_open_note_is_reminded_of_and_what_it_takes_is_marked(pull: Bench) -> None:
    pull.say(i.StartNote())
    assert pull.read(900) == ""
    assert pull.events(e.LineHeard)[-1].outcome == "noted"
    assert pull.wait(minutes=10) == "The note is still open. Say end note."
    pull.say(i.EndNote())
    assert pull.wait(minutes=10) == ""


def test_a_reminder_is_not_given_again_after_a_restart(pull: Bench) -> None:
    pull.say(i.StandBy())
    pull.wait(minutes=10)
    pull.now += timedelta(minutes=3)
    assert STILL in pull.resume()
    assert pull.wait(seconds=1) == ""
    pull.now += timedelta(hours=2)
    assert pull.resume().count(STILL) == 1
    assert pull.wait(seconds=1) == ""
    assert pull.wait(minutes=8) == STILL


def test_a_question_is_reminded_of_once_after_two_minutes(pull: Bench) -> None:
    pull.read(530)
    pull.read(4120)
    asked = "4,120 microns? Say yes, no, or the value again."
    assert pull.wait(minutes=1) == ""
    pull.say(i.WhatNow())  # puts it again
    assert pull.wait(minutes=1, seconds=30) == ""
    assert pull.wait(seconds=30) == asked
    assert pull.wait(minutes=30) == ""


@pytest.mark.parametrize("away", [i.StandBy(), i.StartNote()])
def test_a_question_is_not_reminded_of_while_lines_do_not_count(
    pull: Bench, away: i.Intent
) -> None:
    pull.read(530)
    pull.read(4120)
    pull.say(away)
    assert "4,120" not in pull.wait(minutes=5)
    back = pull.say(i.BackToWork() if away == i.StandBy() else i.EndNote())
    assert back.endswith("4,120 microns? Say yes, no, or the value again.")
    assert pull.wait(seconds=1) == ""


def test_a_timer_still_alerts_while_standing_by(pull: Bench) -> None:
    pull.say(i.StartTimer(timedelta(minutes=3), "nitrogen"))
    pull.say(i.StandBy())
    assert pull.wait(minutes=3) == "Nitrogen finished: 3 minutes."
    assert pull.state.standing_by


def test_a_question_is_told_again_when_it_is_resumed_after_a_note(pull: Bench) -> None:
    pull.say(i.FinishJob())
    pull.say(i.StartNote())
    assert "Finish" not in pull.resume()
    assert "A note is open." in pull.text
