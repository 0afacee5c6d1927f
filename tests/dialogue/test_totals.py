"""Questions about the whole: charge in all, lowest vacuum, readings, open and skipped steps."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest

from fieldvoice.jobstate import events as e
from fieldvoice.language import intents as i
from support.bench import Bench
from support.every_sort import TEXT, at


@pytest.fixture
def pull() -> Bench:
    return at(Bench(TEXT), "pull")


def charge(bench: Bench, *ounces: float) -> None:
    for value in ounces:
        bench.read(value, "oz", "charge-added")
        if bench.state.question:
            bench.say(i.Yes())


def test_the_charge_in_all_is_net_of_what_was_taken_out(pull: Bench) -> None:
    assert pull.say(i.AskChargeTotal()) == "No charge was added yet."
    charge(pull, 8, 6, -4)
    assert pull.say(i.AskChargeTotal()) == "10 oz added in all; 14 oz in, 4 oz out."
    pull.read(7, "lb", "refrigerant-amount")
    assert pull.say(i.AskChargeTotal()).endswith("plate 7 lb.")
    pull.say(i.Correction(Decimal(6)))  # of the plate
    charge(pull, -20)
    assert pull.say(i.AskChargeTotal()).startswith("10 oz taken out in all; 14 oz in, 1.5 lb out;")


def test_the_charge_in_all_stands_beside_the_line_sets_correction() -> None:
    site = {"refrigerant": "R-410A", "liquid-line": "3/8", "covered-length": "15 ft",
            "adder": "0.6 oz/ft"}
    bench = at(Bench(TEXT, site), "pull")
    bench.read(30, "ft", "line-length")
    bench.say(i.AskCharge())
    charge(bench, 9)
    assert bench.say(i.AskChargeTotal()) == (
        "9 oz added in all; correction for the line set 9 oz.")


def test_a_reading_taken_back_counts_in_no_total(pull: Bench) -> None:
    charge(pull, 8, 6)
    pull.say(i.TakeBack())
    assert pull.say(i.AskChargeTotal()) == "8 oz added in all."


def test_the_lowest_vacuum_is_told_with_its_time(pull: Bench) -> None:
    assert pull.say(i.AskLowestVacuum()) == "No vacuum has been logged yet."
    for value in (900, 700, 800):
        pull.now += timedelta(minutes=1)
        pull.read(value)
    at_700 = pull.state.readings[-2].at
    assert pull.say(i.AskLowestVacuum()) == f"Lowest vacuum 700 microns, at {at_700:%H:%M}."


def test_a_vacuum_of_too_coarse_a_gauge_is_no_lowest(pull: Bench) -> None:
    pull.read(900)
    pull.read(29.92, "inHg-vacuum", "vacuum")
    if pull.state.question:
        pull.say(i.Yes())
    assert "900 microns" in pull.say(i.AskLowestVacuum())


def test_readings_are_counted_aloud_and_listed_on_the_screen(pull: Bench) -> None:
    assert pull.say(i.AskReadings("vacuum")) == "No vacuum reading has been logged yet."
    for value in (900, 800, 700):
        pull.read(value)
    assert pull.say(i.AskReadings()) == "3 vacuum readings, the last 700 microns."
    assert pull.replies[0].text.count("microns") == 4
    pull.read(118, "psig", "suction-pressure")
    assert pull.say(i.AskReadings("suction-pressure")) == (
        "1 suction pressure reading, the last 118 psig.")
    for value in range(690, 590, -5):
        pull.read(value)
    pull.say(i.AskReadings())
    assert "and 11 before" in pull.replies[0].text


def test_open_steps_are_those_left_of_the_stage_and_those_left_undone(pull: Bench) -> None:
    said = pull.say(i.AskOpenSteps())
    assert said == "2 left in this stage: pull, stand."
    pull.say(i.Skip("no access"))
    said = pull.say(i.AskOpenSteps())
    assert said == "1 left in this stage: stand; 1 left undone: pull."


def test_a_step_skipped_and_done_after_is_open_no_more(pull: Bench) -> None:
    pull.say(i.Skip("no access"))
    assert pull.say(i.AskSkipped()) == "1 step left undone: pull. No access."
    pull.say(i.Back())
    pull.read(450)
    assert pull.say(i.AskSkipped()) == "Nothing was left undone."


def test_what_did_not_apply_was_not_skipped(pull: Bench) -> None:
    assert pull.say(i.AskSkipped()) == "Nothing was left undone."  # clear-area did not apply


# --- saturation --------------------------------------------------------------------------------


def with_refrigerant(name: str) -> Bench:
    return at(Bench(TEXT, {"refrigerant": name}), "pull")


@pytest.mark.parametrize(
    ("name", "psig", "bubble_f", "dew_f"),
    # printed pressure-temperature charts: R-410A 118.4 psig at 40 F (published installation
    # guide); R-22 68.5 psig at 40 F (from memory, any printed chart)
    [("R-410A", 118.4, 40.0, 40.0), ("R-22", 68.5, 40.0, 40.0)],
)
def test_saturation_at_the_last_suction_pressure(
    name: str, psig: float, bubble_f: float, dew_f: float
) -> None:
    bench = with_refrigerant(name)
    bench.read(psig, "psig", "suction-pressure")
    said = bench.say(i.AskSaturation())
    assert said.startswith(f"{name} at suction pressure {psig} psig: ")
    figures = bench.events(e.VerdictGiven)[-1].figures  # type: ignore[attr-defined]
    assert figures["bubble_k"] * 1.8 - 459.67 == pytest.approx(bubble_f, abs=0.5)
    assert figures["dew_k"] * 1.8 - 459.67 == pytest.approx(dew_f, abs=0.5)


def test_a_blend_has_a_bubble_and_a_dew_temperature_as_coolprop_has_them() -> None:
    from CoolProp.CoolProp import PropsSI

    bench = with_refrigerant("R-407C")
    said = bench.say(i.AskSaturation(None, Decimal(70), "psig"))
    assert "R-407C at 70 psig: bubble " in said
    figures = bench.events(e.VerdictGiven)[-1].figures  # type: ignore[attr-defined]
    pa = 70 * 6894.757 + 101325.0
    assert figures["dew_k"] == pytest.approx(PropsSI("T", "P", pa, "Q", 1, "R407C"), abs=0.1)
    assert figures["bubble_k"] == pytest.approx(PropsSI("T", "P", pa, "Q", 0, "R407C"), abs=0.1)


def test_saturation_of_the_side_that_is_named_and_what_is_missing() -> None:
    bench = with_refrigerant("R-410A")
    assert "I need the suction or liquid pressure" in bench.say(i.AskSaturation())
    bench.read(118, "psig", "suction-pressure")
    bench.read(355, "psig", "liquid-pressure")
    # Johnson Controls CSV p. 63: R-410A, 355 psig: 108 F
    assert "liquid pressure 355 psig: 107.9 °F" in bench.say(i.AskSaturation("liquid-pressure"))
    assert "suction pressure 118 psig" in bench.say(i.AskSaturation("suction-pressure"))
    assert "I need the refrigerant" in at(Bench(TEXT), "pull").say(i.AskSaturation())


# --- split -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("supply", "verdict", "words"),
    [(56, "usual", "The split is 19 °F, usual in cooling"), (63, "small", "12 °F, small"),
     (48, "large", "27 °F, large"), (80, "reversed", "not cooler")],
)
def test_the_split_is_held_against_common_practice(
    pull: Bench, supply: float, verdict: str, words: str
) -> None:
    assert "I need the return air" in pull.say(i.AskSplit())
    pull.read(75, "degF", "return-air")
    pull.read(supply, "degF", "supply-air")
    if pull.state.question:
        pull.say(i.Yes())
    said = pull.say(i.AskSplit())
    assert words in said
    assert said.endswith("Common practice: 15 °F to 23 °F.")
    assert pull.events(e.VerdictGiven)[-1].verdict == verdict  # type: ignore[attr-defined]
