"""Sentences and figures of a verdict, of findings that are written down by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from fieldvoice.quantity.constants import from_microns
from fieldvoice.trade.vacuum import decay_words
from fieldvoice.trade.vacuum.decay_types import (
    COMMON_PRACTICE,
    DecayVerdict,
    Hold,
    VacuumReading,
    Verdict,
)
from fieldvoice.trade.vacuum.decay_words import Findings

TIGHT, WET, LEAKING, OPEN = (Verdict.TIGHT, Verdict.WET, Verdict.LEAKING, Verdict.NOT_YET_CLEAR)
FOUND = Findings(
    verdict=OPEN, likeliest=TIGHT, chances=(0.6, 0.1, 0.3), model="line",
    rise_rate=from_microns(12.0), final_pa=from_microns(480.0), plateau=None,
    steady=from_microns(30.0), steady_share=0.2, missed_rate=from_microns(6.0), minutes_more=5.0,
    outliers=())
RISES = "A curve through the readings rises 12 microns a minute there."


def put(*readings: tuple[float, float], hold: dict[str, Any] | None = None, **found: Any
        ) -> DecayVerdict:
    """The verdict of (minute, microns), 400 at minute 10 where none is given."""
    read = tuple(VacuumReading(m, from_microns(p)) for m, p in readings or ((0, 300), (10, 400)))
    return decay_words.put(replace(FOUND, **found), Hold(read, COMMON_PRACTICE, **(hold or {})))


@pytest.mark.parametrize(
    ("chances", "said"),
    [((0.6, 0.1, 0.3), "tight or a slow leak, too close to call."),
     ((0.6, 0.3, 0.1), "tight or a little moist, too close to call."),
     ((0.1, 0.6, 0.3), "moisture or a leak, not to be told apart yet."),
     ((0.3, 0.1, 0.6), "tight or a slow leak, too close to call.")],
)
def test_an_open_question_names_the_two_likeliest(chances: tuple[float, ...], said: str) -> None:
    found = put(chances=chances)
    assert found.reason.startswith(f"Read 400 microns at minute 10, limit 500: {said} {RISES}")
    assert ("a leak does neither" in found.reason) is (min(chances) == chances[0])
    assert found.confidence == 0.6


@pytest.mark.parametrize(("minute", "early"), [(9.9, True), (10.0, False)])
def test_so_far_good_is_said_before_the_hold_is_over(minute: float, early: bool) -> None:
    found = put((0, 300), (minute, 400))
    assert ("good so far, but the hold is not over." in found.reason) is early
    assert "good so far" not in put((0, 300), (minute, 400), likeliest=LEAKING).reason


@pytest.mark.parametrize(
    ("last", "said"),
    [(501.0, "and the rise is steady: a leak."),
     (500.0, "and a steady rise would break it in another hold: a leak."),
     (400.0, "and a steady rise would break it in another hold: a leak.")],
)
def test_a_leak_is_said_by_whether_the_limit_is_passed(last: float, said: str) -> None:
    found = put((0, 300), (10, last), verdict=LEAKING)
    assert found.reason == f"Read {last:.0f} microns at minute 10, limit 500, {said} {RISES}"
    assert found.next_action == (
        "First blank off gauge, hoses and core tools to clear them. Then pressurize with dry "
        "nitrogen, never oxygen, and search the joints with bubbles.")


@pytest.mark.parametrize(
    ("steady", "share", "said"),
    # in ten minutes more than the limit of 500 microns, and more than a tenth of the other part
    [(51.0, 0.2, "mostly; 51 microns a minute may be a leak as well"),
     (49.0, 0.2, "not a steady leak"), (51.0, 0.1, "not a steady leak"),
     (51.0, 0.11, "mostly; 51 microns a minute may be a leak as well")],
)
def test_a_steady_part_beside_moisture(steady: float, share: float, said: str) -> None:
    found = put((0, 300), (10, 900), verdict=WET, steady=from_microns(steady), steady_share=share)
    assert found.reason == (f"Read 900 microns at minute 10, limit 500, and the rise is slowing: "
                            f"moisture or outgassing, {said}. {decay_words.NOT_EXCLUDED}")


@pytest.mark.parametrize(
    ("ambient_c", "temperature", "said"),
    # IAPWS SR1-86: 17,546 microns is water at 20 C; three degrees either way count as the pipe
    [(20.0, True, "matches water at pipe temperature"), (22.9, True, "matches water at pipe"),
     (23.1, False, "does not exclude water"), (17.1, True, "matches water at pipe temperature"),
     (16.9, True, "Water would have to be at 68 °F (20 °C) for that, warmer than the pipe"),
     (None, False, "does not exclude water")],
)
def test_a_plateau_is_held_against_water_at_the_pipe(
    ambient_c: float | None, temperature: bool, said: str
) -> None:
    found = put(verdict=WET, plateau=from_microns(17_546), hold={"ambient_c": ambient_c})
    assert "A curve through the readings levels off near 17550 microns. " in found.reason
    assert said in found.reason
    assert found.water_temperature_c == (pytest.approx(20.0, abs=0.01) if temperature else None)
    assert found.water_phase == ("liquid" if temperature else None)


@pytest.mark.parametrize(
    ("more", "last", "said"),
    [(0.0, 10.0, "Take another reading now."), (None, 10.0, "Take another reading now."),
     (6.0, 4.0, "Finish the hold: 6 minutes more."),
     (0.5, 9.5, "Finish the hold: 0.5 minutes more."),
     (7.0, 4.0, "Keep it isolated and read each minute for 7 minutes more."),
     (10.0, 10.0, "Keep it isolated and read each minute for 10 minutes more."),
     (15.0, 10.0, "Keep it isolated and read every few minutes for 15 minutes more."),
     (10.0, 24.0, "Keep it isolated and read each minute for 10 minutes more."),
     (10.0, 25.0, "Keep it isolated and read each minute for 10 minutes more. Or do not wait: "
                  "prove it with dry nitrogen, then evacuate again.")],
)
def test_waiting_is_told_for_how_long_and_not_for_ever(
    more: float | None, last: float, said: str
) -> None:
    assert put((0, 300), (last, 400), minutes_more=more).next_action == said


def test_leak_rates_are_rise_times_volume() -> None:
    leak = put(verdict=LEAKING, hold={"volume_m3": 0.006})
    # 30 microns a minute in 6 litres: 3 micron litres a second; 0.1333224 Pa a micron
    assert leak.leak_rate_micron_l_per_s == pytest.approx(3.0)
    assert leak.leak_rate_pa_m3_per_s == pytest.approx(3.0 * 0.133_322_4e-3)
    assert leak.missed_leak_pa_m3_per_s is None
    tight = put(verdict=TIGHT, hold={"volume_m3": 0.006})
    assert tight.missed_leak_pa_m3_per_s == pytest.approx(0.6 * 0.133_322_4e-3)
    assert tight.leak_rate_pa_m3_per_s is None
    for verdict in (OPEN, WET):
        neither = put(verdict=verdict, hold={"volume_m3": 0.006})
        assert (neither.leak_rate_pa_m3_per_s, neither.missed_leak_pa_m3_per_s) == (None, None)
    assert put(verdict=LEAKING).leak_rate_micron_l_per_s is None
    assert put(verdict=TIGHT).missed_leak_kg_per_year is None


def test_the_leak_that_could_hide_is_counted_in_mass() -> None:
    # 0.6 micron L/s = 7.999e-5 Pa m3/s; 2.437e3 Pa m3 a mole at 20 C; 52.024 g of R-32 a mole;
    # 3.15576e7 s a year: 53.9 g, 1.90 oz
    found = put(verdict=TIGHT, hold={"volume_m3": 0.006, "refrigerant": "R-32"})
    assert found.missed_leak_kg_per_year == pytest.approx(0.0539, rel=2e-3)
    assert found.next_action == (
        "Note the reading and go on. A leak that lifts it 6.0 microns a minute could hide in this "
        "hold: 1.9 oz (54 g) of R-32 a year, counted molecule for molecule of the air that comes "
        "in; more goes out at running pressure.")
    # a sixth of it for each litre
    litre = put(verdict=TIGHT, hold={"refrigerant": "R-32"}).next_action
    assert "0.32 oz (9 g) of R-32 a year for each litre of the system, counted" in litre


@pytest.mark.parametrize(("minute", "quoted"), [(10.5, 430), (10.6, 450), (9.5, 430), (9.4, 450)])
def test_tight_quotes_the_reading_within_half_a_minute_of_the_end(minute: float, quoted: float
                                                                  ) -> None:
    readings = ((0.0, 300.0), (minute, 430.0), (20.0, 450.0))
    assert put(*readings, verdict=TIGHT).reason == (
        f"Read {quoted} microns at minute {20 if quoted == 450 else minute:g}, limit 500: it kept "
        f"within the limit for the hold. {RISES}")
    assert put(*readings, verdict=WET).reason.startswith("Read 450 microns at minute 20")


@pytest.mark.parametrize(
    ("found", "said"),
    [({"outliers": (1,)}, "I set reading 2 aside: it does not fit the others."),
     ({"outliers": (0, 1)}, "I set readings 1 and 2 aside: they do not fit the others."),
     ({"pegged": 2}, "From minute 8 on the gauge is at its top.")],
)
def test_what_was_left_out_is_said(found: dict[str, Any], said: str) -> None:
    told = put((0, 300), (2, 900), (6, 380), (8, 390), (10, 400), **found)
    assert told.reason.endswith(said)
    assert "reading 5" not in told.reason
    assert told.reason.startswith("Read 380" if "pegged" in found else "Read 400")


def test_what_is_left_of_the_chances_stands_above() -> None:
    assert put(chances=(0.5, 0.1, 0.2)).stands_above == pytest.approx(0.2)
    assert put(chances=(0.6, 0.1, 0.3)).stands_above == pytest.approx(0.0, abs=1e-12)
    assert put(rise_rate=-1.0).reason.endswith("rises 0.0 microns a minute there.")
