"""What the decay verdict says: readings as read, curves as curves, and nothing it cannot know."""

from __future__ import annotations

import math
from typing import Any

import pytest

from fieldvoice.quantity.constants import PA_PER_IN_HG, from_microns
from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.vacuum.decay import DecayVerdict, VacuumReading, Verdict, judge_decay
from fieldvoice.trade.vacuum.decay_figures import mass, um, warmth


def judged(text: str, **more: Any) -> DecayVerdict:
    """Readings as a technician types them: "0:250 10:283"."""
    pairs = [entry.split(":") for entry in text.split()]
    return judge_decay([VacuumReading(float(m), from_microns(float(p))) for m, p in pairs], **more)


TIGHT = "0:250 1:268 2:275 5:280 10:283"
SLOW = "0:300 2:420 5:600 10:900"  # straight to the digit: a leak, or water behind a narrow way
LONG = SLOW + " 15:1200 20:1500 25:1800 30:2100 35:2400 40:2700"


@pytest.mark.parametrize(
    ("readings", "quoted"),
    [
        (TIGHT, "Read 283 microns at minute 10, limit 500"),
        ("0:300 2:330 5:400 10:490", "Read 490 microns at minute 10, limit 500"),
        ("0:250 1:700 2:950 5:1220 10:1300", "Read 1300 microns at minute 10, limit 500"),
        (SLOW, "Read 900 microns at minute 10, limit 500"),
        (LONG, "Read 2700 microns at minute 40, limit 500"),
        ("0:250 1:255 2:260", "Read 260 microns at minute 2, limit 500"),
        ("0:602 2:598 5:601 10:605", "Read 605 microns at minute 10, limit 500"),
        ("0:300 2:270 5:240 10:180", "Read 180 microns at minute 10 and falling"),
    ],
)
@pytest.mark.parametrize("noise", [0.01, 0.05])
def test_a_reading_is_quoted_as_it_was_read(readings: str, quoted: str, noise: float) -> None:
    assert judged(readings, ambient_c=20.0, gauge_noise_fraction=noise).reason.startswith(quoted)


def test_what_the_curve_says_is_called_so() -> None:
    tight, slow = judged(TIGHT), judged(SLOW, ambient_c=20.0)
    wet = judged("0:250 1:700 2:950 5:1220 10:1300", ambient_c=20.0)
    for found in (tight, slow, wet):
        after = found.reason.split(". ", 1)[1]
        assert after.startswith("A curve through the readings ")
    assert "levels off near" in wet.reason


@pytest.mark.parametrize("rise", [lambda t: 40.0 * t, lambda t: 900.0 * -math.expm1(-t / 3.0)])
def test_the_curve_ends_where_the_readings_end(rise: Any) -> None:
    curve = [250.0 + rise(t) for t in range(31)]
    found = judge_decay([VacuumReading(float(t), from_microns(p)) for t, p in enumerate(curve)])
    assert found.fitted_final_pa == pytest.approx(from_microns(curve[-1]), rel=0.01)


def test_after_an_extension_tight_quotes_the_reading_of_the_hold() -> None:
    found = judged("0:300 2:310 5:325 10:345 15:365 20:380 30:410 40:430 50:445 60:455")
    assert found.verdict is Verdict.TIGHT
    assert found.reason.startswith("Read 345 microns at minute 10, limit 500")


def test_a_slow_straight_rise_is_moisture_or_a_leak_and_what_would_tell() -> None:
    # 60 microns a minute: air, or water at 68 F behind a time constant of five hours
    found = judged(SLOW, ambient_c=20.0)
    assert found.verdict is Verdict.NOT_YET_CLEAR
    assert "moisture or a leak, not to be told apart yet" in found.reason
    # IAPWS SR1-86: 17,546 microns at 20 C
    assert "water at the pipe (17550 microns at 68 °F (20 °C))" in found.reason
    assert "faster when the coldest spot is warmed" in found.reason
    assert "without slowing" not in found.reason
    assert found.minutes_more == 20.0
    assert "read every few minutes for 20 minutes more" in found.next_action


def test_the_same_rise_held_on_is_a_leak() -> None:
    found = judged(LONG, ambient_c=20.0)
    assert found.verdict is Verdict.LEAKING
    assert "and the rise is steady: a leak" in found.reason


def test_what_stays_open_after_a_long_wait_is_offered_nitrogen() -> None:
    found = judged("0:475 2:480 5:485 10:495 18:510 26:520 34:550 42:550", ambient_c=15.0)
    assert found.verdict is Verdict.NOT_YET_CLEAR
    assert "Or do not wait: prove it with dry nitrogen" in found.next_action
    assert "nitrogen" not in judged(SLOW).next_action


@pytest.mark.parametrize(
    "readings",
    ["0:300 1:520 2:528 5:530 10:530", "0:300 2:520 5:530 10:530", "0:250 2:1300 5:1300 10:1300"],
)
@pytest.mark.parametrize("ambient", [20.0, None])
def test_evening_out_above_the_limit_is_not_called_wet(readings: str, ambient: float | None
                                                       ) -> None:
    found = judged(readings, ambient_c=ambient)
    assert found.verdict is Verdict.NOT_YET_CLEAR
    assert "evened out above it: it was not pulled low enough" in found.reason
    assert found.next_action.startswith("Pull to well below 500 microns")


@pytest.mark.parametrize(
    ("readings", "said"),
    [
        ("0:250 2:20000 5:20000 10:20000", "20000 microns from minute 2 on: the gauge is at its"),
        ("0:19999 2:19999 5:19999 10:19999", "from minute 0 on: the gauge is at its top"),
        ("0:400 5:25000 10:25000", "from minute 5 on: the gauge is at its top"),
        ("0:250 2:7000 5:7000 10:7000", "from minute 2 on: the gauge is at its top"),
    ],
)
def test_a_gauge_at_its_top_is_no_water(readings: str, said: str) -> None:
    found = judged(readings, ambient_c=20.0)
    assert found.verdict is Verdict.NOT_YET_CLEAR
    assert said in found.reason
    assert found.water_temperature_c is None
    assert "each minute from the start" in found.next_action


def test_the_way_up_to_the_gauges_top_still_tells() -> None:
    found = judged("0:250 1:5000 2:9800 3:14500 4:19300 5:19999 10:19999", ambient_c=20.0)
    assert found.verdict is Verdict.LEAKING  # 4,800 a minute, straight past water at 68 F (17,546)
    assert found.reason.startswith("Read 19300 microns at minute 4")
    assert "From minute 5 on the gauge is at its top." in found.reason


def test_a_curved_rise_of_five_readings_accuses_none_of_them() -> None:
    found = judged("0:250 1:1000 2:1800 5:3000 10:3900", ambient_c=20.0)
    assert found.outliers == ()
    assert "aside" not in found.reason


def test_tight_says_what_it_could_have_missed_in_mass_a_year() -> None:
    found = judged(TIGHT, volume_m3=0.005, ambient_c=20.0)
    assert found.missed_leak_pa_m3_per_s is not None
    assert found.missed_leak_kg_per_year is not None
    # published units: 1 mol/s = 2.437e3 Pa m3/s at 20 C; R-410A is 72.585 g a mole
    grams = found.missed_leak_pa_m3_per_s / 2437.0 * 72.585 * 3.15576e7
    assert found.missed_leak_kg_per_year * 1e3 == pytest.approx(grams, rel=1e-3)
    assert f"{mass(found.missed_leak_kg_per_year)} of R-410A a year, counted molecule for" in (
        found.next_action)
    assert "more goes out at running pressure" in found.next_action
    # the least that eleven minutes can see is of the order of the gauge's error over the hold,
    # (1 % + 5 microns) a reading: 0.8 to 8 microns a minute
    rate = found.missed_leak_pa_m3_per_s / 0.005 * 60.0
    assert from_microns(0.8) < rate < from_microns(8.0)


def test_a_noisier_gauge_could_have_missed_more() -> None:
    fine = judged(TIGHT, volume_m3=0.005, gauge_noise_fraction=0.002)
    coarse = judged(TIGHT, volume_m3=0.005, gauge_noise_fraction=0.03)
    assert fine.missed_leak_pa_m3_per_s is not None
    assert coarse.missed_leak_pa_m3_per_s is not None
    assert coarse.missed_leak_pa_m3_per_s > 1.3 * fine.missed_leak_pa_m3_per_s


def test_without_a_volume_it_is_told_for_each_litre() -> None:
    found, litre = judged(TIGHT), judged(TIGHT, volume_m3=0.001)
    assert found.missed_leak_kg_per_year is None
    assert litre.missed_leak_kg_per_year is not None
    said = f"{mass(litre.missed_leak_kg_per_year)} of R-410A a year for each litre of the system"
    assert said in found.next_action


def test_the_refrigerant_of_the_job_is_what_it_is_counted_in() -> None:
    r32 = judged(TIGHT, volume_m3=0.005, refrigerant="r32")
    r410a = judged(TIGHT, volume_m3=0.005, refrigerant="R-410A")
    assert " of R-32 a year" in r32.next_action
    assert r32.missed_leak_kg_per_year is not None
    assert r410a.missed_leak_kg_per_year is not None
    # molar masses: 52.024 and 72.585 g
    assert r32.missed_leak_kg_per_year / r410a.missed_leak_kg_per_year == pytest.approx(
        52.024 / 72.585, rel=1e-3)
    assert " of R-22 a year" in judged(TIGHT, volume_m3=0.005, refrigerant="R-22").next_action
    for other in ("R-9", None):  # not known
        found = judged(TIGHT, volume_m3=0.005, refrigerant=other)
        assert " of R-410A a year" in found.next_action


def test_a_reading_in_steps_too_coarse_for_the_limit_is_refused() -> None:
    # a dial: 29.91 inHg of vacuum, read to a hundredth; one inch is 25,400 microns
    step = 0.01 * PA_PER_IN_HG
    dial = [VacuumReading(float(t), step, step_pa=step) for t in (0, 2, 5, 10)]
    with pytest.raises(TradeError, match=r"reading 1 cannot be held against the limit: .*254 micr"):
        judge_decay(dial)


def test_a_coarse_step_that_carries_the_limit_makes_the_verdict_less_sure() -> None:
    def tight(step: float | None) -> float:
        step_pa = None if step is None else from_microns(step)
        readings = [VacuumReading(float(t), from_microns(p), step_pa)
                    for t, p in ((0, 300), (2, 311), (5, 331), (10, 361))]
        return dict(judge_decay(readings).chances)[Verdict.TIGHT]

    assert tight(100.0) < tight(1.0)


@pytest.mark.parametrize(
    ("microns", "said"),
    [(3.14, "3.1 microns"), (59.6, "60 microns"), (1357.4, "1357 microns"),
     (17_546.2, "17550 microns")],
)
def test_fitted_figures_are_said_to_four_digits_at_most(microns: float, said: str) -> None:
    assert um(from_microns(microns)) == said


def test_masses_and_temperatures_are_said_in_both_units() -> None:
    assert mass(0.0425) == "1.5 oz (42 g)"  # 28.349523 g an ounce
    assert warmth(20.0) == "68 °F (20 °C)"


def test_tight_is_not_said_when_the_reading_at_the_end_was_set_aside() -> None:
    found = judged("0:450 1:451 2:452 4:453 6:453 8:454 10:900")
    assert found.outliers == (6,)
    assert found.verdict is Verdict.NOT_YET_CLEAR
    assert found.reason.startswith("Read 454 microns at minute 8, limit 500: good so far")


def test_a_reading_after_the_hold_s_time_is_the_one_quoted() -> None:
    # a break in the middle: minutes 5 to 21 were not read; common practice quotes the last reading
    found = judged("0:268 1:272 2:274 3:275 4:275 21.4:284")
    assert found.verdict is Verdict.TIGHT
    assert found.reason.startswith("Read 284 microns at minute 21.4, limit 500")
