"""What is called out of a timer: half, last minute, ten seconds and its end, each of them once."""

from __future__ import annotations

from collections import Counter
from datetime import timedelta

import pytest

from fieldvoice.jobstate import events as e
from fieldvoice.language import intents as i
from support.bench import Bench
from support.every_sort import TEXT, at


def _told(bench: Bench, minutes: float = 0.0, seconds: float = 0.0) -> list[tuple[int, str]]:
    """What is said while time passes, a tick a second: (second, all replies)."""
    passed = range(1, round(60 * minutes + seconds) + 1)
    return [(second, text) for second in passed if (text := bench.wait(seconds=1))]


def _with_timer(length: timedelta, label: str = "oil") -> Bench:
    bench = at(Bench(TEXT), "pull")
    bench.say(i.StartTimer(length, label))
    return bench


@pytest.mark.parametrize(
    ("length", "calls"),
    [
        (20, {20: "Oil finished: 20 seconds."}),
        (60, {50: "Oil: 10 seconds left.", 60: "Oil finished: 1 minute."}),
        (180, {170: "Oil: 10 seconds left.", 180: "Oil finished: 3 minutes."}),
        (240, {120: "Oil half over: 2 minutes left.", 180: "Oil: 1 minute left.",
               230: "Oil: 10 seconds left.", 240: "Oil finished: 4 minutes."}),
        (600, {300: "Oil half over: 5 minutes left.", 540: "Oil: 1 minute left.",
               590: "Oil: 10 seconds left.", 600: "Oil finished: 10 minutes."}),
    ],
)  # fmt: skip
def test_a_timer_is_called_out_as_often_as_its_length_allows(
    length: int, calls: dict[int, str]
) -> None:
    bench = _with_timer(timedelta(seconds=length))
    assert dict(_told(bench, seconds=length + 5)) == calls


def test_a_hold_is_called_out_too_and_its_own_marks_go_before() -> None:
    bench = at(Bench(TEXT), "stand")  # asks at minutes 0 1 2 4 6 8
    bench.say(i.StartHold())
    told = dict(_told(bench, minutes=10))
    assert told == {
        60: "Minute 1. Vacuum?", 120: "Minute 2. Vacuum?", 240: "Minute 4. Vacuum?",
        300: "Hold half over: 5 minutes left.", 360: "Minute 6. Vacuum?",
        480: "Minute 8. Vacuum?", 540: "Hold: 1 minute left.", 590: "Hold: 10 seconds left.",
        600: "Hold finished: 10 minutes. Final vacuum?",
    }


def test_where_a_mark_stands_at_half_only_the_mark_is_called() -> None:
    bench = at(Bench(TEXT.replace("at 0 1 2 4 6 8 min", "at 0 5 9 min")), "stand")
    bench.say(i.StartHold())
    told = dict(_told(bench, minutes=10))
    assert told[300] == "Minute 5. Vacuum?"
    assert told[540] == "Minute 9. Vacuum?"
    assert sorted(told) == [300, 540, 590, 600]


def test_timers_due_together_are_told_in_one_reply_soonest_first() -> None:
    bench = _with_timer(timedelta(minutes=10), "oil")
    bench.wait(seconds=0.4)
    bench.say(i.StartTimer(timedelta(minutes=10), "tea"))
    bench.now += timedelta(minutes=9)
    bench.wait()
    assert [r.text for r in bench.replies] == ["Oil: 1 minute left. Tea: 1 minute left."]
    bench.now += timedelta(minutes=1)
    bench.wait()
    assert [r.text for r in bench.replies] == [
        "Oil finished: 10 minutes. Tea finished: 10 minutes."]


def test_one_tick_never_tells_of_a_timer_twice() -> None:
    """Wherever a stopped program wakes up, each timer has one sentence, and it is true."""
    for second in range(0, 660, 7):
        bench = at(Bench(TEXT), "stand")
        bench.say(i.StartHold())
        bench.say(i.StartTimer(timedelta(minutes=10), "oil"))
        before = len(bench.log)
        bench.wait(seconds=second)
        named = Counter(
            v.event.label for v in bench.log[before:]
            if isinstance(v.event, e.Reminded | e.TimerFinished))
        alerts = " ".join(r.told for r in bench.replies if r.tone == "alert")
        assert alerts.count("Oil") <= 1, (second, alerts)
        assert alerts.count("Hold") + alerts.count("Vacuum?") <= 1, (second, alerts)
        assert named["oil"] <= 1, (second, named)
        bench.wait()
        assert bench.text == "", second


def test_a_late_half_says_only_what_is_left() -> None:
    bench = _with_timer(timedelta(minutes=10))
    assert bench.wait(minutes=6, seconds=40) == "Oil: 3 minutes 20 seconds left."


def test_what_was_called_is_not_called_again_after_a_restart() -> None:
    bench = _with_timer(timedelta(minutes=10))
    bench.wait(minutes=5)
    bench.now += timedelta(seconds=20)
    bench.resume()
    assert _told(bench, minutes=3) == []


def test_what_came_while_away_is_told_once_with_what_is_left() -> None:
    bench = _with_timer(timedelta(minutes=10))
    bench.now += timedelta(minutes=6)
    assert bench.resume().count("Oil") == 1
    assert "Oil: 4 minutes left." in bench.text
    assert dict(_told(bench, minutes=4)) == {
        180: "Oil: 1 minute left.", 230: "Oil: 10 seconds left.", 240: "Oil finished: 10 minutes."}


def test_the_end_of_a_hold_is_told_once_after_an_absence() -> None:
    bench = at(Bench(TEXT), "stand")
    bench.say(i.StartHold())
    bench.now += timedelta(minutes=33)
    text = bench.resume()
    assert text.count("ran out 23 minutes ago") == 1
    assert text.count("Final vacuum?") == 1
    told = _told(bench, minutes=2)
    assert told == [(60, "The hold is over. I still need the vacuum.")]


def test_what_ran_out_and_was_told_is_only_asked_for_after_another_absence() -> None:
    bench = at(Bench(TEXT), "stand")
    bench.say(i.StartHold())
    bench.wait(minutes=10)
    bench.now += timedelta(minutes=40)
    text = bench.resume()
    assert "ran out" not in text
    assert "finished" not in text
    assert text.endswith("The time is up. I need a final vacuum.")
    assert "still need" not in text
    assert _told(bench, seconds=50) == []


def test_a_tick_that_comes_some_seconds_late_says_when_the_end_was() -> None:
    bench = _with_timer(timedelta(minutes=1))
    assert bench.wait(seconds=75) == "Oil finished 15 seconds ago: 1 minute."


def test_more_time_calls_its_last_minute_anew_and_nothing_that_has_passed() -> None:
    bench = _with_timer(timedelta(minutes=10))
    bench.wait(minutes=9)
    bench.say(i.AddTime(timedelta(minutes=5), "oil"))
    assert dict(_told(bench, minutes=6)) == {
        300: "Oil: 1 minute left.", 350: "Oil: 10 seconds left.", 360: "Oil finished: 15 minutes."}


def test_time_left_does_not_put_a_waiting_caution_again_but_an_end_does() -> None:
    bench = Bench(TEXT)  # its first step waits for a caution
    bench.say(i.StartTimer(timedelta(minutes=4), "oil"))
    assert dict(_told(bench, minutes=4)) == {
        120: "Oil half over: 2 minutes left.", 180: "Oil: 1 minute left.",
        230: "Oil: 10 seconds left.",
        240: "Oil finished: 4 minutes. First the caution: say understood."}


def test_a_log_of_an_older_fieldvoice_keeps_its_last_minute() -> None:
    bench = _with_timer(timedelta(minutes=10))
    bench.now += timedelta(minutes=9, seconds=5)
    bench.happen(e.Reminded("oil", "last minute"))
    assert bench.wait() == ""


def test_a_call_of_a_newer_fieldvoice_is_passed_over() -> None:
    bench = _with_timer(timedelta(minutes=10))
    bench.happen(e.Reminded("oil", "a quarter"))
    assert bench.wait(minutes=5) == "Oil half over: 5 minutes left."
