"""A fire watch runs its time, or is cut short for a reason that stands in the report."""

from __future__ import annotations

from datetime import timedelta

import pytest

from fieldvoice.jobstate import events as e
from fieldvoice.language import intents as i
from fieldvoice.review.logged_job import read_job
from fieldvoice.review.report import report_html
from support.bench import Bench
from support.every_sort import UNSURE

TEXT = """\
procedure braze "Braze and go on"
limit watch = 60 min source "common practice"
stage joints "Joints"
step cool
  say "Let it cool."
  timer watch "fire watch"
step insulate
  say "Insulate the joints."
step record
  say "Leave the record."
  end handed-over "Done."
"""
LEFT = "The fire watch has 42 minutes to go."


@pytest.fixture
def bench() -> Bench:
    """A job whose fire watch has run for 18 of its 60 minutes."""
    bench = Bench(TEXT)
    bench.say(i.Next())
    bench.wait(minutes=18)
    return bench


def reason(bench: Bench, words: str, confidence: float | None = None) -> str:
    """A reason in words that mean nothing else."""
    return bench.say(i.NotUnderstood("What?", "unknown"), words=words, confidence=confidence)


def page(bench: Bench) -> str:
    """The report of the job as its log has it."""
    return report_html(read_job(bench.log, TEXT))


@pytest.mark.parametrize("intent", [i.StopTimer(), i.StopTimer("fire watch")])
def test_stop_asks_for_the_reason_and_once_more_before_it_ends_a_fire_watch(
    bench: Bench, intent: i.Intent
) -> None:
    assert bench.say(intent) == f"{LEFT} What is the reason to end it early? Or say no."
    assert bench.state.timers["fire watch"].running
    assert reason(bench, "the owner watches it") == (
        f"It protects you and the house. {LEFT} Cut the fire watch short: the owner watches it? "
        "Say yes or no.")
    assert bench.state.timers["fire watch"].running
    assert bench.say(i.Yes()) == "Fire watch cut short, 42 minutes before its end."
    stopped = bench.events(e.TimerStopped)
    assert [(v.label, v.reason) for v in stopped] == [("fire watch", "the owner watches it")]


@pytest.mark.parametrize("intent", [i.StopTimer(), i.FinishJob()])
def test_a_no_lets_it_run_at_either_question(bench: Bench, intent: i.Intent) -> None:
    bench.say(intent)
    assert bench.say(i.No()) == "All right, it goes on."
    bench.say(intent)
    reason(bench, "it rains")
    assert bench.say(i.No()) == "All right, not done."
    assert bench.state.timers["fire watch"].running
    assert not bench.state.finished
    assert bench.events(e.TimerStopped) == []


def test_finish_the_job_names_the_fire_watch_and_asks(bench: Bench) -> None:
    said = bench.say(i.FinishJob())
    assert said == (f"Step insulate is still open. {LEFT} What is the reason to end it early? "
                    "Or say no.")
    reason(bench, "called away")
    bench.say(i.Yes())
    assert bench.state.ending == "stopped-early"
    assert bench.kinds()[-2:] == ["timer-stopped", "job-finished"]


def test_a_badly_heard_finish_asks_for_the_reason_after_its_yes(bench: Bench) -> None:
    bench.say(i.FinishJob(), confidence=UNSURE, words="finish the job")
    assert LEFT in bench.say(i.Yes())
    assert not bench.state.finished


@pytest.mark.parametrize("intent", [i.Next(), i.FinishJob(), i.Skip("not needed")])
def test_the_last_step_does_not_end_the_job_while_it_runs(bench: Bench, intent: i.Intent) -> None:
    bench.say(i.Next())
    assert bench.say(intent) == f"{LEFT} What is the reason to end it early? Or say no."
    assert not bench.state.finished
    bench.say(i.No())
    assert "Fire watch finished: 1 hour." in bench.wait(minutes=42)
    bench.say(i.Next())
    assert bench.state.ending == "handed-over"


def test_the_last_step_ends_the_job_by_its_own_ending_once_the_watch_was_cut_short(
    bench: Bench
) -> None:
    bench.say(i.Next())
    bench.say(i.Next())
    reason(bench, "called away")
    assert "Done. Job finished." in bench.say(i.Yes())
    assert bench.state.ending == "handed-over"


def test_a_spoken_reason_is_kept_as_sound_and_read_back(bench: Bench) -> None:
    bench.say(i.StopTimer())
    assert "Cut the fire watch short: raining? " in reason(bench, "raining", confidence=UNSURE)
    assert bench.say(i.Repeat()).endswith("Cut the fire watch short: raining? Say yes or no.")


def test_other_timers_stop_as_ever(bench: Bench) -> None:
    bench.say(i.StartTimer(timedelta(minutes=5), "oil"))
    assert bench.say(i.StopTimer("oil")) == "Stopped the oil, 5 minutes before its end."


def test_the_report_says_that_it_was_cut_short_when_and_why(bench: Bench) -> None:
    bench.say(i.StopTimer())
    reason(bench, "the owner watches it")
    bench.say(i.Yes())
    shown = page(bench)
    assert "stopped 09:18:00, cut short 42 minutes before its end: the owner watches it" in shown
    assert "Cut short by 42 minutes" in shown


def test_the_report_says_that_it_ran_its_whole_time(bench: Bench) -> None:
    bench.wait(minutes=43)
    shown = page(bench)
    assert "cut short" not in shown.lower()
    assert "finished 10:01:00, ran its whole time" in shown


def test_a_cut_that_was_taken_back_is_no_cut(bench: Bench) -> None:
    bench.say(i.StopTimer())
    reason(bench, "it rains")
    bench.say(i.Yes())
    bench.say(i.TakeBack())
    assert bench.state.timers["fire watch"].running
    assert "Cut short" not in page(bench)
