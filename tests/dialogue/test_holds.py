"""Holds and timers: stamped readings, reminders, alerts, verdicts and the ways they lead."""

from __future__ import annotations

from datetime import timedelta

import pytest

from fieldvoice.jobstate import events as e
from fieldvoice.language import intents as i
from support.bench import Bench
from support.every_sort import LEAKING, TEXT, TIGHT, WET, at, run_hold


@pytest.fixture
def stand() -> Bench:
    return at(Bench(TEXT), "stand")


def test_starting_the_hold_asks_for_the_first_reading(stand: Bench) -> None:
    assert stand.say(i.StartHold()) == "Hold started: 10 minutes. Vacuum?"
    timer = stand.events(e.TimerStarted)[-1]
    assert (timer.label, timer.seconds, timer.hold) == ("hold", 600, True)


def test_readings_of_the_hold_carry_its_minute(stand: Bench) -> None:
    stand.say(i.StartHold())
    stand.now += timedelta(minutes=2, seconds=30)
    assert stand.read(460) == "460 microns."
    assert stand.replies[-1].text == "460 microns at minute 2.5."
    reading = stand.events(e.ReadingTaken)[-1]
    assert (reading.hold, reading.minute, reading.within) == ("stand", 2.5, True)


def test_marks_are_called_once_at_their_minute(stand: Bench) -> None:
    stand.say(i.StartHold())
    assert stand.wait(seconds=59) == ""
    assert stand.wait(seconds=1) == "Minute 1. Vacuum?"
    assert stand.wait(seconds=1) == ""
    assert [r.mark for r in stand.events(e.Reminded)] == ["0 min", "1 min"]


def test_the_end_of_the_hold_asks_for_a_final_reading(stand: Bench) -> None:
    stand.say(i.StartHold())
    text = stand.wait(minutes=10)
    assert text == "Hold finished: 10 minutes. Final vacuum?"
    assert stand.tones == ["alert", "prompt"]


@pytest.mark.parametrize(
    ("values", "last", "verdict", "to"),
    [
        (TIGHT, 455, "tight", "finish-up"),
        (LEAKING, 3450, "leaking", "search"),
        (WET, 1495, "wet", "sweep"),
    ],
)
def test_the_verdict_is_computed_spoken_logged_and_followed(
    stand: Bench, values: tuple[int, ...], last: int, verdict: str, to: str
) -> None:
    text = run_hold(stand, values, last)
    assert f"Verdict: {verdict}." in text
    given = stand.events(e.VerdictGiven)[-1]
    assert (given.about, given.verdict, given.step) == ("decay", verdict, "stand")
    assert len(given.figures["readings"]) == 7
    assert given.figures["limits"]["source"] == "common practice"
    branch = stand.events(e.BranchTaken)[-1]
    assert (branch.option, branch.to) == (verdict, to)
    assert stand.state.step == to


def test_too_few_readings_are_no_verdict_and_the_same_hold_goes_on(stand: Bench) -> None:
    stand.say(i.StartHold())
    stand.wait(minutes=10)
    assert "not yet clear" in stand.read(455)
    assert stand.state.step == "stand"
    hold = stand.state.hold
    assert hold is not None
    assert hold.running
    assert len(stand.state.hold_readings()) == 1


def test_a_shorter_hold_than_the_limit_wants_a_reason_and_a_longer_one_is_taken(
    stand: Bench,
) -> None:
    assert "The hold is 10 minutes (common practice). Who asks for 5 minutes?" in stand.say(
        i.StartHold(timedelta(minutes=5)))
    assert stand.state.hold is None
    assert "30 minutes" in stand.say(i.StartHold(timedelta(minutes=30)))


def test_a_hold_is_not_started_twice_nor_where_none_belongs(stand: Bench) -> None:
    stand.say(i.StartHold())
    stand.now += timedelta(minutes=3)
    assert stand.say(i.StartHold()) == "The hold already runs. 7 minutes left."
    assert "no hold" in at(Bench(TEXT), "pull").say(i.StartHold())


def test_a_plain_hold_leads_on_by_itself(stand: Bench) -> None:
    bench = at(Bench(TEXT), "pull")
    bench.say(i.Choose("break-with-nitrogen"))
    bench.read(5, "psig")
    bench.say(i.StartHold())
    bench.wait(minutes=5)
    assert bench.state.step == "sweep"


def test_timers_speak_first_as_one_then_the_caution_then_the_prompt(stand: Bench) -> None:
    bench = at(Bench(TEXT), "pull")
    bench.say(i.StartTimer(timedelta(minutes=5), "oil"))
    bench.say(i.Choose("break-with-nitrogen"))
    bench.read(5, "psig")
    bench.say(i.StartHold())
    bench.wait(minutes=5)
    assert bench.tones == ["alert", "caution", "prompt"]
    assert bench.replies[0].text == "Oil finished: 5 minutes. Hold finished: 5 minutes."


def test_several_named_timers_run_side_by_side(stand: Bench) -> None:
    stand.say(i.StartTimer(timedelta(minutes=10), "nitrogen"))
    stand.say(i.StartTimer(timedelta(minutes=3)))
    assert stand.say(i.HowLongLeft()) == (
        "Timer: 3 minutes left. Nitrogen: 10 minutes left.")
    assert stand.wait(minutes=3) == "Timer finished: 3 minutes."
    assert stand.wait(minutes=6) == "Nitrogen: 1 minute left."
    assert stand.wait(minutes=1) == "Nitrogen finished: 10 minutes."
    assert stand.wait(minutes=1) == ""


def test_timers_that_end_while_a_caution_waits_are_one_alert_and_the_caution_still_waits() -> None:
    bench = Bench(TEXT)
    bench.say(i.StartTimer(timedelta(minutes=2), "oil"))
    bench.say(i.StartTimer(timedelta(minutes=2), "tea"))
    assert bench.wait(minutes=2) == ("Oil finished: 2 minutes. Tea finished: 2 minutes. "
                                     "First the caution: say understood.")
    assert bench.tones == ["alert", "prompt"]
    assert bench.state.unacknowledged() == ["power"]


def test_timers_are_lengthened_and_stopped_by_name_or_newest(stand: Bench) -> None:
    stand.say(i.StartTimer(timedelta(minutes=10), "nitrogen"))
    stand.say(i.StartTimer(timedelta(minutes=3), "oil"))
    more = i.AddTime(timedelta(minutes=2), "nitrogen")
    assert stand.say(more) == "Nitrogen: 12 minutes left now."
    assert stand.say(i.StopTimer()).startswith("Stopped the oil, 3 minutes before its end.")
    assert stand.say(i.StopTimer("oil")) == "No oil timer runs. Running: nitrogen."
    assert stand.say(i.HowLongLeft("nitrogen")) == "Nitrogen: 12 minutes left."


def test_a_stopped_hold_can_be_begun_again_and_its_readings_start_anew(stand: Bench) -> None:
    stand.say(i.StartHold())
    stand.read(455)
    stand.say(i.StopTimer("hold"))
    stand.now += timedelta(minutes=1)
    stand.say(i.StartHold())
    assert stand.state.hold_readings() == []


def test_a_hold_that_ran_out_while_away_is_reported_as_such(stand: Bench) -> None:
    stand.say(i.StartHold())
    stand.read(455)
    stand.now += timedelta(minutes=33)
    text = stand.resume()
    assert "Job bench goes on." in text
    assert "Hold: 10 minutes ran out 23 minutes ago, while away." in text
    assert "Final vacuum?" in text
    stand.read(458)
    assert stand.state.readings[-1].minute == 33.0


def test_a_running_timer_survives_a_restart(stand: Bench) -> None:
    stand.say(i.StartTimer(timedelta(minutes=10), "nitrogen"))
    stand.now += timedelta(minutes=4)
    assert "Nitrogen: 6 minutes left." in stand.resume()
    assert stand.wait(minutes=6) == "Nitrogen finished: 10 minutes."


def test_alerts_come_while_standing_by(stand: Bench) -> None:
    stand.say(i.StartTimer(timedelta(minutes=3)))
    stand.say(i.StandBy())
    assert stand.wait(minutes=3) == "Timer finished: 3 minutes."


def test_a_reading_just_after_the_end_closes_the_hold_even_before_a_tick(stand: Bench) -> None:
    stand.say(i.StartHold())
    for value in TIGHT:
        stand.read(value)
        stand.now += timedelta(minutes=1, seconds=45)
    assert "Verdict: tight" in stand.read(455)
    assert "Final" not in stand.text


def test_verdict_so_far_can_be_asked_for_and_is_not_logged_as_given(stand: Bench) -> None:
    stand.say(i.StartHold())
    for value in (450, 452, 453):
        stand.read(value)
        stand.now += timedelta(minutes=1)
    assert stand.say(i.AskVerdict()).startswith("So far: Verdict: not yet clear.")
    assert stand.events(e.VerdictGiven) == []


def test_skipping_a_hold_stops_it(stand: Bench) -> None:
    stand.say(i.StartHold())
    stand.say(i.Skip("no time"))
    stand.say(i.Yes())
    assert stand.state.step == "finish-up"
    assert not stand.state.timers["hold"].running


def test_a_hold_that_is_over_is_asked_about_again_but_not_forever(stand: Bench) -> None:
    stand.say(i.StartHold())
    stand.wait(minutes=10)
    said = [stand.wait(minutes=0.5) for _ in range(60)]
    assert [n for n, text in enumerate(said) if text] == [1, 5, 15]  # after 1, 3 and 8 minutes
    assert said[1] == "The hold is over. I still need the vacuum."


def test_the_missing_temperature_of_a_nitrogen_test_is_asked_for() -> None:
    text = TEXT.replace(
        'hold wait "standing vacuum" ask vacuum at 0 1 2 4 6 8 min judge decay deep',
        'read ambient-temperature\n  '
        'hold wait "nitrogen" ask nitrogen-pressure at 0 5 min judge nitrogen step-of-gauge',
    ).replace("on tight", "on passed").replace("on wet go to sweep", "on failed go to search")
    text = text.replace("on leaking go", "on gaining go").replace(
        "limit warm", 'limit step-of-gauge = 1 psia source "common practice"\nlimit warm')
    bench = at(Bench(text), "stand")
    bench.read(80, "degF", "ambient-temperature")
    bench.say(i.StartHold())
    bench.read(450, "psig", "nitrogen-pressure")
    bench.wait(minutes=10)
    assert bench.read(436, "psig", "nitrogen-pressure").endswith("And the ambient temperature?")
    assert "Verdict: passed." in bench.read(65)
    expected = bench.events(e.VerdictGiven)[-1].figures["expected"]["real_pa"]
    # nitrogen of 450 psig at 80 F stands at 436.13 psig at 65 F (CoolProp, constant density)
    assert expected / 6894.757 - 14.696 == pytest.approx(436.13, abs=0.2)


BESIDE = """\
procedure beside "A timer beside the steps"
limit watch = 10 min source "common practice"
caution gas "It suffocates." acknowledge
stage one "One"
step heat say "Heat it." timer watch "fire watch"
step next-one say "Go on." caution gas
step last say "Done." end done
"""


def test_a_timer_of_a_step_runs_beside_the_next_ones() -> None:
    bench = Bench(BESIDE)
    assert bench.say(i.Next()).startswith("Fire watch: 10 minutes. It suffocates.")
    assert bench.say(i.HowLongLeft("fire watch")) == "Fire watch: 10 minutes left."
    assert bench.wait(minutes=10) == (
        "Fire watch finished: 10 minutes. First the caution: say understood.")
    assert bench.refolded() == bench.state


def test_going_back_over_a_step_with_a_timer_leaves_the_one_that_runs() -> None:
    bench = Bench(BESIDE)
    bench.say(i.Next())
    bench.wait(minutes=4)
    bench.say(i.Back())
    bench.say(i.Next())
    assert bench.say(i.HowLongLeft()) == "Fire watch: 6 minutes left."
    assert len(bench.state.timers) == 1
