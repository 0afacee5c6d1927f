"""Repair: every one is a new event that points at what it repairs, and verdicts follow."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest

from fieldvoice.jobstate import events as e
from fieldvoice.language import intents as i
from support.bench import Bench
from support.every_sort import LEAKING, TEXT, TIGHT, UNSURE, at, run_hold, taken


@pytest.fixture
def pull() -> Bench:
    return at(Bench(TEXT), "pull")


def test_take_back_takes_back_a_reading_and_points_at_it(pull: Bench) -> None:
    pull.read(900)
    seq = pull.seq(e.ReadingTaken)
    text = pull.say(i.TakeBack())
    assert text == "Took back 900 microns. I need the vacuum, at most 500 microns."
    assert pull.events(e.Withdrawn)[-1].withdraws == seq
    assert pull.state.last("vacuum") is None


def test_take_back_takes_back_the_step_that_the_reading_completed(pull: Bench) -> None:
    pull.read(412)
    assert pull.state.step == "stand"
    assert pull.say(i.TakeBack()) == "Took back 412 microns. Pull below 500 microns."
    assert pull.state.step == "pull"
    assert pull.state.laps("pull") == 0


def test_take_back_again_goes_one_line_further_back(pull: Bench) -> None:
    pull.read(900)
    pull.read(800)
    pull.say(i.TakeBack())
    pull.say(i.TakeBack())
    assert pull.state.last("vacuum") is None
    pull.say(i.TakeBack())  # the outdoor temperature, and with it the step
    assert pull.state.step == "outdoor"


def test_readings_of_a_reopened_step_still_count(pull: Bench) -> None:
    bench = at(Bench(TEXT), "pull")
    bench.say(i.Choose("break-with-nitrogen"))
    bench.read(5, "psig")
    bench.say(i.TakeBack())
    assert bench.state.step == "sweep"
    assert bench.state.unmet() is not None


def test_nothing_to_take_back_is_said() -> None:
    assert Bench(TEXT).say(i.TakeBack()) == "There is nothing to take back."


def test_take_back_drops_an_open_question_first(pull: Bench) -> None:
    pull.read(900)
    pull.read(9, confidence=UNSURE)
    assert pull.say(i.TakeBack()) == "Dropped."
    assert taken(pull)[-1] == ("vacuum", "900", "microns")


def test_timers_are_undone_one_change_at_a_time(pull: Bench) -> None:
    pull.say(i.StartTimer(timedelta(minutes=10), "oil"))
    pull.say(i.AddTime(timedelta(minutes=5), "oil"))
    pull.say(i.StopTimer("oil"))
    assert "Took back the stop of the timer." in pull.say(i.TakeBack())
    assert pull.say(i.HowLongLeft("oil")) == "Oil: 15 minutes left."
    pull.say(i.TakeBack())
    assert pull.say(i.HowLongLeft("oil")) == "Oil: 10 minutes left."
    pull.say(i.TakeBack())
    assert pull.say(i.HowLongLeft()) == "No timer runs."


def test_a_correction_points_at_the_reading_and_keeps_both_values(pull: Bench) -> None:
    pull.read(900)
    seq = pull.seq(e.ReadingTaken)
    assert pull.say(i.Correction(Decimal(700))) == "Vacuum is now 700 microns, not 900 microns."
    corrected = pull.events(e.ReadingCorrected)[-1]
    assert (corrected.corrects, corrected.value, corrected.unit) == (seq, "700", "microns")
    assert [str(v.value) for v in pull.state.last("vacuum").values] == ["900", "700"]


def test_a_correction_that_meets_the_limit_leads_on(pull: Bench) -> None:
    pull.read(900)
    pull.say(i.Correction(Decimal(450)))
    assert pull.state.step == "stand"


def test_a_correction_that_misses_the_limit_leads_back(pull: Bench) -> None:
    pull.read(450)
    text = pull.say(i.Correction(Decimal(540)))
    assert "back to that step" in text
    assert pull.state.step == "pull"
    assert pull.state.unmet() is not None


def test_an_earlier_reading_is_changed_by_its_name(pull: Bench) -> None:
    pull.read(181, "psig", "suction-pressure")
    pull.read(900)
    text = pull.say(i.ChangeReading("suction-pressure", Decimal(118)))
    assert text == "Suction pressure is now 118 psig, not 181 psig."
    assert pull.state.last("vacuum").now.value == 900


def test_what_was_never_read_cannot_be_changed(pull: Bench) -> None:
    assert "No suction pressure" in pull.say(i.ChangeReading("suction-pressure", Decimal(118)))


def test_a_surprising_or_badly_heard_change_is_asked_back(pull: Bench) -> None:
    pull.read(900)
    pull.read(880)
    assert pull.say(i.Correction(Decimal(88000))).startswith("88,000 microns instead of 880")
    pull.say(i.Yes())
    assert pull.state.last("vacuum").now.value == 88000
    pull.say(i.Correction(Decimal(870)), confidence=UNSURE)
    assert pull.state.last("vacuum").now.value == 88000
    pull.say(i.No())
    assert pull.state.last("vacuum").now.value == 88000


def test_take_back_undoes_a_correction(pull: Bench) -> None:
    pull.read(900)
    pull.say(i.Correction(Decimal(700)))
    pull.say(i.TakeBack())
    assert pull.state.last("vacuum").now.value == 900


def test_a_hold_goes_on_with_its_minutes_when_its_last_reading_is_taken_back() -> None:
    bench = at(Bench(TEXT), "stand")
    run_hold(bench, TIGHT, 455)
    assert bench.state.step == "finish-up"
    bench.say(i.TakeBack())
    assert bench.state.step == "stand"
    assert bench.state.results == ()
    assert len(bench.state.hold_readings()) == 6
    assert "Verdict: tight" in bench.read(456)


def test_a_corrected_reading_of_a_judged_hold_gives_a_new_verdict_from_all_readings() -> None:
    bench = at(Bench(TEXT), "stand")
    run_hold(bench, LEAKING, 3450)
    assert bench.state.step == "search"
    text = bench.say(i.ChangeReading("vacuum", Decimal(3460)))
    assert "The verdict stays leaking." in text
    assert bench.state.step == "search"
    first, second = bench.events(e.VerdictGiven)
    assert first.figures["readings"][-1]["pressure_pa"] == pytest.approx(3450 * 0.133322387)
    assert second.figures["readings"][-1]["pressure_pa"] == pytest.approx(3460 * 0.133322387)
    assert first.figures["readings"][:-1] == second.figures["readings"][:-1]


def test_a_verdict_that_changes_while_the_hold_goes_on_takes_its_way() -> None:
    bench = at(Bench(TEXT), "stand")
    run_hold(bench, TIGHT, 900)
    assert bench.state.step == "stand"
    bench.say(i.ChangeReading("vacuum", Decimal(455)))
    assert "The verdict changes. Verdict: tight." in bench.text
    assert bench.state.step == "finish-up"
    assert bench.refolded() == bench.state


def test_a_verdict_that_no_longer_stands_leads_back_and_the_hold_goes_on() -> None:
    bench = at(Bench(TEXT), "stand")
    run_hold(bench, TIGHT, 455)
    assert bench.state.step == "finish-up"
    bench.say(i.ChangeReading("vacuum", Decimal(900)))
    assert "The verdict changes. Verdict: not yet clear." in bench.text
    assert bench.state.step == "stand"
    assert bench.state.hold is not None
    assert bench.state.hold.running
    assert len(bench.state.hold_readings()) == 7
    assert bench.refolded() == bench.state


def test_a_verdict_that_changes_after_other_steps_says_how_to_return() -> None:
    bench = at(Bench(TEXT), "stand")
    bench.say(i.StartHold())
    for value in (450, 455):  # few readings, so that the last one decides
        bench.read(value)
        bench.now += timedelta(minutes=5)
    bench.read(1000)
    assert bench.state.step != "stand"
    bench.say(i.Skip("no time"))
    before = bench.state.step
    bench.say(i.ChangeReading("vacuum", Decimal(460)))
    assert "Say back to return to that hold." in bench.text
    assert bench.state.step == before
