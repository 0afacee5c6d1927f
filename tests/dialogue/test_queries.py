"""Questions answered from the job state and the arithmetic; what is missing is named."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest

from fieldvoice.jobstate import events as e
from fieldvoice.language import intents as i
from support.bench import Bench
from support.every_sort import TEXT, TIGHT, at, run_hold

SITE = {"refrigerant": "R-410A", "liquid-line": "3/8", "covered-length": "15 ft",
        "adder": "0.6 oz/ft"}


@pytest.fixture
def pull() -> Bench:
    return at(Bench(TEXT, SITE), "pull")


def test_the_last_reading_is_said_with_its_age(pull: Bench) -> None:
    pull.read(900)
    pull.now += timedelta(minutes=2)
    assert pull.say(i.AskLast("vacuum")) == "Vacuum: 900 microns, 2 minutes ago."
    assert pull.say(i.AskLast()) == "Vacuum: 900 microns, 2 minutes ago."
    assert pull.say(i.AskLast("voltage")) == "No voltage has been logged yet."


@pytest.mark.parametrize(
    ("intent", "missing"),
    [
        (i.AskBoilingPoint(), "vacuum"),
        (i.AskSuperheat(), "suction pressure"),
        (i.AskSubcooling(), "liquid pressure"),
        (i.AskTargetSuperheat(), "indoor wet bulb"),
        (i.AskCharge(), "line set length"),
        (i.AskForecast(), "three vacuum readings"),
        (i.AskVerdict(), "hold"),
    ],
)
def test_what_is_missing_is_named(pull: Bench, intent: i.Intent, missing: str) -> None:
    assert missing in pull.say(intent)
    assert pull.events(e.LineHeard)[-1].outcome == "refused"


def test_a_missing_fact_says_how_to_give_it() -> None:
    bench = at(Bench(TEXT), "pull")
    bench.read(118, "psig", "suction-pressure")
    bench.read(55, "degF", "suction-temperature")
    assert "refrigerant is r four fifty four b" in bench.say(i.AskSuperheat())


@pytest.mark.parametrize(
    ("microns", "answer"),
    # IAPWS SR1-86: water at 68 F, 17,546 microns; IAPWS R14-08: ice at -12 F, 500 microns
    [(17546, "water boils at 68 °F"), (500, "ice gives off vapour at -12 °F")],
)
def test_boiling_point_at_the_last_vacuum(pull: Bench, microns: int, answer: str) -> None:
    pull.read(microns)
    assert answer in pull.say(i.AskBoilingPoint())


def test_superheat_agrees_with_a_published_example(pull: Bench) -> None:
    # Trane 18-BC53D2 p. 28: R-410A at 81 psig, line at 36 F -> 15 F
    pull.read(81, "psig", "suction-pressure")
    pull.read(36, "degF", "suction-temperature")
    pull.say(i.AskSuperheat())
    given = pull.events(e.VerdictGiven)[-1]
    assert given.about == "superheat"
    assert given.figures["difference_f"] == pytest.approx(15.0, abs=1.0)


def test_subcooling_agrees_with_a_published_example(pull: Bench) -> None:
    # Johnson Controls CSV p. 63: R-410A, 355 psig at the coil outlet, line 95.0 F -> 13.0 F
    pull.read(355, "psig", "liquid-pressure")
    pull.read(95, "degF", "liquid-temperature")
    pull.say(i.AskSubcooling())
    assert pull.events(e.VerdictGiven)[-1].figures["difference_f"] == pytest.approx(13.0, abs=1.0)


def test_target_superheat_agrees_with_the_printed_table(pull: Bench) -> None:
    # Lennox 14ACX manual p. 26: 95 F outdoors, 70 F wet bulb -> 18 F
    pull.read(95, "degF", "outdoor-temperature")
    if pull.state.question:
        pull.say(i.Yes())
    pull.read(70, "degF", "indoor-wet-bulb")
    assert pull.say(i.AskTargetSuperheat()).startswith("Target superheat 18 °F, fixed orifice.")


def test_the_charge_uses_the_equipment_s_adder(pull: Bench) -> None:
    # Carrier 38C p. 27 Table 4: 3/8 line, 0.60 oz/ft; 30 ft less the 15 ft covered -> 9 oz
    pull.read(30, "ft", "line-length")
    assert "Weigh in 9.0 ounces" in pull.say(i.AskCharge())


def test_the_forecast_goes_by_the_readings_of_this_pull(pull: Bench) -> None:
    for value in (20000, 9000, 4200, 2000, 1100):
        pull.read(value)
        if pull.state.question:
            pull.say(i.Yes())
        pull.now += timedelta(minutes=1)
    text = pull.say(i.AskForecast())
    assert "500 microns" in text
    assert "minute" in text
    assert pull.events(e.VerdictGiven)[-1].about == "forecast"
    assert "1000 microns" in pull.say(i.AskForecast(Decimal(1000), "microns"))


def test_the_forecast_counts_with_the_last_blank_off(pull: Bench) -> None:
    for blank_off in (60, 700):  # read twice: the last one counts
        pull.read(blank_off, "microns", "blank-off")
        if pull.state.question:
            pull.say(i.Yes())
    for value in (20000, 9000, 4200, 2000, 1100):
        pull.read(value)
        if pull.state.question:
            pull.say(i.Yes())
        pull.now += timedelta(minutes=1)
    text = pull.say(i.AskForecast())
    assert "The rig alone read 700 microns at blank-off: it cannot reach 500 microns." in text
    assert "Change the pump oil" in text
    given = pull.events(e.VerdictGiven)[-1].figures
    assert given["chance_of_reaching"] == 0.0
    pull.say(i.TakeBack())
    assert "minute" in pull.say(i.AskForecast(Decimal(1000), "microns"))


def test_the_last_verdict_can_be_asked_for_later() -> None:
    bench = at(Bench(TEXT), "stand")
    run_hold(bench, TIGHT, 455)
    assert bench.say(i.AskVerdict()).startswith("The last verdict was tight. ")


def test_take_back_takes_back_a_reading_and_not_the_answer_that_came_after(pull: Bench) -> None:
    pull.read(900)
    pull.say(i.AskBoilingPoint())
    assert "Took back 900 microns." in pull.say(i.TakeBack())
