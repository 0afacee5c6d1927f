"""A computer that was started anew, or whose clock was set: what that makes of holds and timers."""

from __future__ import annotations

from datetime import timedelta

import pytest

from fieldvoice.dialogue.units import handle
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.events import Restarted
from support.every_sort import TEXT
from support.job_bench import JobBench
from support.small_procedure import TEXT as SMALL

QUESTION = "Is that clock right? Say yes or no."


def _holding(site: dict[str, str] | None = None) -> JobBench:
    """A job whose hold of ten minutes runs."""
    bench = JobBench(SMALL, site)
    for words in ("understood", "900 microns", "410 microns", "start the hold"):
        bench.say(words)
    assert bench.job.state.hold is not None
    return bench


def _restart(bench: JobBench, after: timedelta, *, behind: bool = False) -> str:
    """The computer is started anew, and the job read back from the bytes of its log."""
    bench.now += after
    shows = bench.now - timedelta(days=1) if behind else bench.now
    bench.job = bench.refolded()
    bench.take_in(handle.resume(
        bench.job, bench.now, restarted=Restarted(shows.isoformat(), behind)))
    return bench.text


def test_after_a_restart_it_is_asked_before_the_hold_counts() -> None:
    bench = _holding()
    text = _restart(bench, timedelta(minutes=14))
    assert ("The computer was restarted. By its clock, 9:14 AM, the hold has run 14 minutes. "
            f"{QUESTION}") in text
    assert "ran out" not in text
    assert text.count("Is that clock") == 1
    assert "Is that clock" not in bench.wait(minutes=1)  # ticks change nothing
    assert bench.events(e.TimerFinished) == []


def test_a_right_clock_lets_the_hold_count_and_its_end_is_told_once() -> None:
    bench = _holding()
    _restart(bench, timedelta(minutes=14))
    text = bench.say("yes")
    assert text == ("Then it counts. Hold: 10 minutes ran out 4 minutes 3 seconds ago, "
                    "while away. Final vacuum?")
    assert bench.wait(seconds=30) == ""
    judged = bench.events(e.ClockJudged)[-1]
    assert isinstance(judged, e.ClockJudged)
    assert judged.right
    assert bench.job.state.history.line(judged.line) is not None


def test_a_hold_that_still_runs_goes_on_by_a_clock_that_is_right() -> None:
    bench = _holding()
    assert "if the clock is right" in _restart(bench, timedelta(minutes=4))
    bench.say("yes")
    assert bench.say("how long left").startswith("Hold: 5 minutes 54 seconds left.")


def test_a_wrong_clock_ends_the_hold_untimed_and_it_is_begun_again() -> None:
    bench = _holding()
    _restart(bench, timedelta(minutes=14))
    text = bench.say("no")
    assert text == ("Stopped the hold: nobody knows how long it ran. "
                    "Say start the hold to begin it again.")
    assert bench.events(e.TimerFinished) == []
    old = bench.job.state.history.timers[-1]
    assert (old.state, old.untimed, old.cut_short) == ("stopped", True, False)
    assert "Hold started: 10 minutes." in bench.say("start the hold")
    assert bench.job.state.hold_readings() == []
    assert "Hold finished: 10 minutes." in bench.wait(minutes=10)


def test_taking_back_does_not_bring_an_untimed_hold_back() -> None:
    bench = _holding()
    _restart(bench, timedelta(minutes=14))
    bench.say("no")
    bench.say("take that back")
    assert bench.job.state.hold is None


@pytest.mark.parametrize("words", ["never mind", "take that back", "next", "skip", "okay",
                                   "start the hold", "stop the hold", "add two minutes",
                                   "mumble", "stop the job"])
def test_nothing_else_lets_the_hold_count(words: str) -> None:
    bench = _holding()
    _restart(bench, timedelta(minutes=14))
    text = bench.say(words)
    assert QUESTION in text, text
    bench.wait(minutes=3)
    assert bench.events(e.TimerFinished) == []
    assert bench.job.state.clock_doubt is not None


def test_a_reading_meanwhile_is_kept_and_the_question_stays() -> None:
    bench = _holding()
    _restart(bench, timedelta(minutes=14))
    assert QUESTION in bench.say("420 microns")
    assert len(bench.job.state.hold_readings()) == 1
    bench.say("no")
    bench.say("start the hold")
    assert bench.job.state.hold_readings() == []


def test_a_clock_behind_the_log_is_wrong_without_a_question() -> None:
    bench = _holding()
    text = _restart(bench, timedelta(), behind=True)
    assert "its clock is wrong: 9:00 AM was before the last line of this job." in text
    assert "Stopped the hold: nobody knows how long it ran." in text
    assert bench.events(e.ClockJudged) == [e.ClockJudged(False)]
    assert "Hold started" in bench.say("start the hold")


def test_where_nothing_runs_a_restart_is_only_logged() -> None:
    bench = JobBench(SMALL)
    bench.say("understood")
    assert "restarted" not in _restart(bench, timedelta(hours=14))
    assert len(bench.events(Restarted)) == 1


def test_a_second_restart_asks_again() -> None:
    bench = _holding()
    _restart(bench, timedelta(minutes=14))
    text = _restart(bench, timedelta(minutes=6))
    assert "the hold has run 20 minutes" in text
    assert text.count("Is that clock") == 1
    assert "ran out 10 minutes 3 seconds ago" in bench.say("yes")
    assert bench.job.state.question is None


def test_going_on_without_a_restart_keeps_the_question() -> None:
    bench = _holding()
    _restart(bench, timedelta(minutes=14))
    bench.now += timedelta(minutes=1)
    assert bench.resume().count("Is that clock right") == 1
    assert bench.events(e.TimerFinished) == []


def test_one_answer_is_for_the_timers_of_all_units() -> None:
    bench = JobBench(TEXT)
    bench.say("understood")
    bench.say("start a ten minute timer")
    bench.say("new unit two")
    bench.say("yes")
    bench.say("start a five minute oil timer")
    text = _restart(bench, timedelta(minutes=7))
    assert "the timer of unit one has run" in text
    assert "of unit two has run" in text
    assert text.count("Is that clock right") == 1
    bench.say("no")
    bench.wait(seconds=1)
    gone = bench.events(e.TimerStopped)
    assert len(gone) == 2
    assert all(v.untimed for v in gone if isinstance(v, e.TimerStopped))
    assert bench.wait(minutes=10) == ""


@pytest.mark.parametrize(("seconds", "way"), [(3600.0, "forward 1 hour"), (-3600.0, "back 1 hour"),
                                              (-90.4, "back 1 minute 30 seconds")])
def test_a_clock_that_is_set_is_said_and_logged_and_the_hold_goes_on(
    seconds: float, way: str
) -> None:
    bench = _holding()
    bench.wait(minutes=3)
    after = bench.now + timedelta(seconds=seconds)
    jumped = e.ClockJumped(seconds, bench.now.isoformat(), after.isoformat())
    bench.take_in(handle.clock_set(bench.job, bench.now, jumped))
    assert bench.text == f"The computer's clock was set {way}. Timers go on as they were."
    assert bench.events(e.ClockJumped) == [jumped]
    assert bench.say("how long left", after=0) == "Hold: 7 minutes left."


def test_what_can_be_put_back_outlasts_a_clock_that_is_set() -> None:
    bench = _holding()
    bench.say("420 microns")
    bench.say("take that back")
    bench.take_in(handle.clock_set(bench.job, bench.now, e.ClockJumped(60.0, "", "")))
    bench.say("put that back")
    assert len(bench.job.state.hold_readings()) == 1
