"""The plate's design pressure: read back when no such system is tested to it, then kept to."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest

from fieldvoice.dialogue.safeguards.plate import digit_by_digit
from fieldvoice.jobstate import events as e
from fieldvoice.language import intents as i
from fieldvoice.procedure.check import load
from fieldvoice.procedure.reader import shipped
from fieldvoice.review.logged_job import read_job
from fieldvoice.review.report import report_html
from support.bench import Bench
from support.every_sort import UNSURE

TEXT = """\
procedure raise-it "Raise it"
limit least = 100 psig source "common practice"
limit most = 900 psig source "common practice"
limit full-low = 125 psig then least-full-stage of design-pressure source "common practice"
limit full-high = 150 psig then full-stage of design-pressure source "common practice"
limit wait = 10 min source "common practice"
stage test "Test"
step plate
  say "Tell me the design pressure."
  read design-pressure between least and most
step raise
  say "Raise to {limit.full-high}, then tell me."
  read nitrogen-pressure between full-low and full-high
step stand
  say "Say start the hold."
  hold wait "test" ask nitrogen-pressure at 0 5 min
step last
  say "Done."
  end done
"""


def at_plate(refrigerant: str | None = "R-410A") -> Bench:
    return Bench(TEXT, {"refrigerant": refrigerant} if refrigerant else {})


def at_raise(plate: int = 480) -> Bench:
    bench = at_plate()
    bench.read(plate, "psig")
    assert bench.state.step == "raise"
    return bench


@pytest.mark.parametrize(
    ("refrigerant", "psig", "than"),
    [
        # 4.15 MPa, 602 psig, is the highest field test read: Sanyo R-410A, Toshiba R-32 units
        ("R-410A", 850, "R-410A systems are tested to, 602 psig"),
        ("R-32", 603, "R-32 systems are tested to, 602 psig"),
        (None, 850, "any published field test, 602 psig"),
        ("R-999", 850, "any published field test, 602 psig"),
        # CoolProp: R-134a boils at 1.89 MPa absolute at 65 C, 259 psig; no field test was found
        ("R-134a", 480, "R-134a has at 149 °F, 259 psig"),
    ],
)
def test_a_plate_above_what_such_systems_are_tested_to_is_read_back_in_digits_and_words(
    refrigerant: str | None, psig: int, than: str
) -> None:
    bench = at_plate(refrigerant)
    said = bench.read(psig, "psig")
    digits = digit_by_digit(Decimal(psig)).capitalize()
    assert said == (f"{psig} psig? More than {than}. {digits}: is that on the plate? "
                    "Say yes, no, or the value again.")
    assert bench.events(e.ReadingTaken) == []
    assert bench.state.step == "plate"
    bench.say(i.Yes())
    assert str(bench.state.limit("full-high")) == f"{psig} psig"  # counted once it is confirmed


def test_a_plate_misheard_never_raises_a_stage() -> None:
    bench = at_plate()
    bench.read(850, "psig")
    bench.read(480, "psig")
    assert str(bench.state.limit("full-high")) == "480 psig"


@pytest.mark.parametrize(("refrigerant", "psig"), [("R-410A", 602), ("R-134a", 250), (None, 450)])
def test_a_usual_plate_is_taken(refrigerant: str | None, psig: int) -> None:
    bench = at_plate(refrigerant)
    bench.read(psig, "psig")
    assert bench.state.step == "raise"


def test_a_correction_to_such_a_plate_is_read_back_too() -> None:
    bench = at_raise()
    said = bench.say(i.ChangeReading("design-pressure", Decimal(850), "psig"))
    assert "More than R-410A systems are tested to" in said
    assert str(bench.state.limit("full-high")) == "480 psig"


def test_the_shipped_test_asks_before_any_stage_is_spoken() -> None:
    bench = Bench(load(shipped("nitrogen-test")), {"refrigerant": "R-410A"})
    for _ in range(40):
        if bench.state.step == "plate":
            break
        bench.say(i.Understood())
        if bench.state.step == "refrigerant-amount":
            bench.read(5, "lb")
        elif bench.state.step == "refrigerant-class":
            bench.say(i.Choose("not-flammable"))
        else:
            bench.say(i.Next())
    said = bench.read(850, "psig")
    assert "850 psig? More than R-410A systems are tested to, 602 psig." in said
    assert "Eight five zero: is that on the plate?" in said


def test_a_pressure_over_the_plate_is_answered_first_and_loudly_and_never_as_a_miss() -> None:
    bench = at_raise()
    bench.read(520, "psig")
    assert bench.replies[0].text == "Over the plate. Let it down now. 520 psig, plate 480 psig."
    assert bench.replies[0].tone == "alert"
    assert "above" not in bench.text
    assert bench.state.step == "raise"
    taken = bench.events(e.ReadingTaken)[-1]
    assert (taken.within, taken.over_plate) == (False, "480 psig")


def test_it_comes_before_a_timer_that_ran_out_in_the_same_breath() -> None:
    bench = at_raise()
    bench.say(i.StartTimer(timedelta(minutes=1), "oil"))
    bench.now += timedelta(minutes=2)
    bench.read(520, "psig")
    assert bench.replies[0].text.startswith("Over the plate. Let it down now.")


def test_one_that_was_not_heard_for_sure_is_warned_of_before_it_is_asked_about() -> None:
    bench = at_raise()
    bench.read(520, "psig", confidence=UNSURE)
    assert bench.replies[0].text == (
        "If so, over the plate: let it down now. 520 psig, plate 480 psig.")
    assert bench.replies[0].tone == "alert"
    assert bench.events(e.ReadingTaken)[-1].quantity == "design-pressure"
    assert bench.say(i.Yes()).startswith("Over the plate. Let it down now.")


def test_warmth_that_takes_a_held_pressure_over_the_plate_is_an_alarm_too() -> None:
    bench = at_raise()
    bench.read(480, "psig")
    bench.say(i.StartHold())
    bench.read(480, "psig")
    bench.wait(minutes=5)
    bench.read(486, "psig")
    assert bench.replies[0].text == "Over the plate. Let it down now. 486 psig, plate 480 psig."


def test_a_correction_over_the_plate_is_an_alarm_too() -> None:
    bench = at_raise()
    bench.read(470, "psig")
    bench.say(i.ChangeReading("nitrogen-pressure", Decimal(520), "psig"))
    assert bench.replies[0].text == "Over the plate. Let it down now. 520 psig, plate 480 psig."
    assert bench.events(e.ReadingCorrected)[-1].over_plate == "480 psig"


def test_a_plate_changed_below_the_pressure_that_stands_is_an_alarm_too() -> None:
    bench = at_raise()
    bench.read(480, "psig")
    bench.say(i.ChangeReading("design-pressure", Decimal(300), "psig"))
    assert bench.replies[0].text == "Over the plate. Let it down now. 480 psig, plate 300 psig."
    assert bench.replies[0].tone == "alert"


@pytest.mark.parametrize("plate", ["33.5", "480"])
def test_the_last_stage_itself_is_not_over_the_plate(plate: str) -> None:
    bench = at_plate()
    bench.read(plate, "bar" if "." in plate else "psig")
    full = bench.state.limit("full-high")
    bench.read(str(full.value), full.unit)
    assert "alert" not in bench.tones
    assert bench.state.step == "stand"


def test_the_report_names_it_and_a_slip_that_was_corrected_is_none() -> None:
    bench = at_raise()
    bench.read(520, "psig")
    page = report_html(read_job(bench.log, TEXT))
    assert "<dt>Overpressure</dt>" in page
    assert "over the plate, 480 psig" in page
    bench.say(i.ChangeReading("nitrogen-pressure", Decimal(470), "psig"))
    assert "<dt>Overpressure</dt>" not in report_html(read_job(bench.log, TEXT))


def test_digits_are_spelt_out() -> None:
    assert digit_by_digit(Decimal("33.5")) == "three three point five"
