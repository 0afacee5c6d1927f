"""What is answered to readings that are no hold: word for word, with what they rest on."""

from __future__ import annotations

import pytest

from fieldvoice.quantity.constants import from_microns
from fieldvoice.trade.vacuum import decay_no_hold
from fieldvoice.trade.vacuum.decay_types import COMMON_PRACTICE, Hold, VacuumReading, Verdict


def hold(*readings: tuple[float, float], ambient_c: float | None = None) -> Hold:
    """Of (minute, microns), under 500 microns for ten minutes."""
    return Hold(tuple(VacuumReading(m, from_microns(p)) for m, p in readings), COMMON_PRACTICE,
                0.005, ambient_c, "R-32")


@pytest.mark.parametrize(
    ("readings", "said", "wait", "over"),
    [([], "No readings yet", 10.0, "10 minutes"),
     ([(0.0, 300.0)], "Only one reading", 10.0, "10 minutes"),
     ([(3.0, 300.0)], "Only one reading", 7.0, "7 minutes"),
     ([(0.0, 300.0), (7.5, 310.0)], "Only two readings", 2.5, "2.5 minutes"),
     ([(0.0, 300.0), (7.0, 310.0)], "Only two readings", 3.0, "3 minutes"),
     ([(0.0, 300.0), (9.0, 310.0)], "Only two readings", 2.0, "2 minutes"),
     ([(0.0, 300.0), (40.0, 310.0)], "Only two readings", 2.0, "2 minutes")],
)
def test_too_few_readings_are_asked_for_over_what_is_left_of_the_hold(
    readings: list[tuple[float, float]], said: str, wait: float, over: str
) -> None:
    found = decay_no_hold.too_few(hold(*readings))
    assert found.reason == f"{said}; a verdict needs at least three."
    assert found.next_action == f"Keep it isolated and read the gauge again over {over}."
    assert found.minutes_more == pytest.approx(wait)


def test_a_fall_says_that_something_pulls() -> None:
    found = decay_no_hold.falling(hold((0, 300), (5, 240), (10, 180)), (1,))
    assert found.reason == (
        "Read 180 microns at minute 10 and falling: something is still pulling on it.")
    assert found.next_action == "Shut the valve to the pump, check it, and start the hold again."
    assert (found.minutes_more, found.outliers) == (10.0, (1,))
    assert found.fitted_rise_pa_per_min == pytest.approx(from_microns(-12.0))


@pytest.mark.parametrize(
    ("first", "began"),
    [(501.0, "the hold began above it"), (500.0, "from 500 microns it evened out above it"),
     (300.0, "from 300 microns it evened out above it")],
)
def test_what_stands_above_the_limit_says_how_it_got_there(first: float, began: str) -> None:
    found = decay_no_hold.stands_above(hold((0, first), (5, 600), (10, 605)), (2,))
    assert found.reason == (
        f"Read 605 microns at minute 10, limit 500, hardly rising, but {began}: it was not pulled "
        "low enough, or gave off a little moisture.")
    assert found.next_action == "Pull to well below 500 microns, then start the hold again."
    assert (found.minutes_more, found.outliers) == (10.0, (2,))


def test_a_gauge_at_its_top_says_since_when() -> None:
    found = decay_no_hold.at_top(hold((0, 250), (2, 20_000), (5, 20_000), (10, 20_000)), 3)
    assert found.reason == ("20000 microns from minute 2 on: the gauge is at its top, and what the "
                            "vacuum did then is not seen.")
    assert found.next_action == (
        "Pull it down again and read the gauge each minute from the start: the way up to its top "
        "tells moisture from a leak.")
    assert (found.minutes_more, found.outliers) == (10.0, ())


def test_nothing_is_concluded_and_the_inputs_come_along() -> None:
    asked = hold((1, 300), (5, 310), (9, 340), ambient_c=21.0)
    found = decay_no_hold.falling(asked, ())
    assert found.verdict is Verdict.NOT_YET_CLEAR
    # three causes, none likelier than another
    assert found.confidence == pytest.approx(1 / 3)
    assert [verdict for verdict, _ in found.chances] == ["tight", "wet", "leaking"]
    assert [chance for _, chance in found.chances] == pytest.approx([1 / 3] * 3)
    assert found.model == "flat"
    assert found.fitted_rise_pa_per_min == pytest.approx(from_microns(5.0))  # 40 in eight minutes
    assert found.fitted_final_pa == pytest.approx(from_microns(340.0))
    assert {found.plateau_pa, found.water_temperature_c, found.water_phase,
            found.leak_rate_pa_m3_per_s, found.leak_rate_micron_l_per_s,
            found.missed_leak_pa_m3_per_s, found.missed_leak_kg_per_year} == {None}
    assert (found.readings, found.limits) == (asked.readings, COMMON_PRACTICE)
    assert (found.volume_m3, found.ambient_c, found.refrigerant) == (0.005, 21.0, "R-32")


@pytest.mark.parametrize(("readings", "rise"), [([], 0.0), ([(3.0, 300.0)], 0.0),
                                                ([(2.0, 300.0), (6.0, 320.0)], 5.0)])
def test_a_rise_takes_two_readings(readings: list[tuple[float, float]], rise: float) -> None:
    found = decay_no_hold.too_few(hold(*readings))
    assert found.fitted_rise_pa_per_min == pytest.approx(from_microns(rise))
    assert found.fitted_final_pa == pytest.approx(from_microns(readings[-1][1] if readings
                                                               else 500.0))
