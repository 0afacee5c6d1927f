"""The standing-vacuum verdict on curves of known cause, and what it refuses."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence
from typing import Any

import pytest

from fieldvoice.quantity.constants import PA_PER_MICRON, from_microns
from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.vacuum.decay import LIMITS, DecayVerdict, VacuumReading, Verdict, judge_decay
from fieldvoice.trade.vacuum.leak_rate import leak_rate


def judged(microns: Sequence[float], minutes: Sequence[float] | None = None, **more: Any
           ) -> DecayVerdict:
    times = minutes or range(len(microns))
    readings = [
        VacuumReading(float(t), from_microns(p)) for t, p in zip(times, microns, strict=True)
    ]
    return judge_decay(readings, **more)


FLAT = [250, 268, 275, 276, 280, 281, 280, 282, 279, 281, 283]
STEEP_LINE = [250 + 200 * t for t in range(31)]  # ten minutes of it might still be slow moisture
LEVELLING = [250 + 900 * (1 - math.exp(-t / 3)) for t in range(11)]


# Shapes: JCI YC4 p. 31 (steady rise = leak, rise that levels = moisture)
@pytest.mark.parametrize(
    ("curve", "verdict"),
    [(FLAT, Verdict.TIGHT), (STEEP_LINE, Verdict.LEAKING), (LEVELLING, Verdict.WET)],
)
def test_the_three_published_shapes_are_told_apart(curve: list[float], verdict: Verdict) -> None:
    found = judged(curve, ambient_c=20.0)
    assert found.verdict is verdict
    assert found.confidence >= found.limits.sure_at


def test_leak_rate_is_the_steady_rise_times_the_volume() -> None:
    found = judged(STEEP_LINE, volume_m3=0.005, ambient_c=20.0)
    expected = 200 * PA_PER_MICRON / 60 * 0.005
    assert found.leak_rate_pa_m3_per_s == pytest.approx(expected, rel=0.03)
    assert found.leak_rate_micron_l_per_s == pytest.approx(200 / 60 * 5, rel=0.03)


def test_published_worked_leak_rate() -> None:
    # 40 CFR 1065.644 example: 2.0000 L, 293.15 K, 25.300 to 50.600 kPa in 70 s
    found = leak_rate(2.0e-3, 25.3e3, 50.6e3, 70.0)
    assert found.mol_per_s == pytest.approx(2.9657e-4, rel=1e-4)
    assert found.pa_m3_per_s == pytest.approx(0.7229, rel=1e-4)


def test_leak_rate_units() -> None:
    # leak-rate unit table (PED guidance): 1 mbar L/s = 0.1 Pa m3/s = 0.750 torr L/s
    found = leak_rate(1.0, 1.0, 1.1, 1.0)
    assert found.mbar_l_per_s == pytest.approx(1.0)
    assert found.micron_l_per_s == pytest.approx(750.06, abs=0.01)


def test_one_micron_a_minute_in_ten_litres() -> None:
    # computed scale: 2.22e-5 Pa m3/s
    found = leak_rate(0.010, from_microns(500), from_microns(501), 60.0)
    assert found.pa_m3_per_s == pytest.approx(2.22e-5, rel=2e-3)


def test_a_plateau_is_named_by_the_ice_that_has_its_pressure_at_a_pipe_so_cold() -> None:
    # iapws library: 1000 microns is ice at +0.85 F (-17.3 C); plateau here is 1150 microns
    found = judged(LEVELLING, ambient_c=-16.0)
    assert found.model == "saturating"
    assert found.water_phase == "ice"
    assert found.plateau_pa == pytest.approx(from_microns(1150), rel=0.03)
    assert found.water_temperature_c == pytest.approx(-15.8, abs=0.6)
    assert "matches water at pipe temperature" in found.reason


@pytest.mark.parametrize("ambient", [20.0, None])
def test_no_ice_is_claimed_against_a_warm_pipe_or_one_not_known(ambient: float | None) -> None:
    # a little water wholly evaporated levels off at any pressure below its own (perfect gas)
    found = judged(LEVELLING, ambient_c=ambient)
    assert found.verdict is Verdict.WET
    assert found.plateau_pa == pytest.approx(from_microns(1150), rel=0.03)
    assert (found.water_temperature_c, found.water_phase) == (None, None)
    assert "ice" not in found.reason
    assert "does not exclude water" in found.reason


def test_a_plateau_at_the_pipe_temperature_is_said_to_match_water() -> None:
    # IAPWS: 6545 microns is water at 5 C
    curve = [250 + 6295 * (1 - math.exp(-t / 2.5)) for t in range(11)]
    found = judged(curve, ambient_c=5.0)
    assert found.verdict is Verdict.WET
    assert "matches water" in found.reason


def test_a_touched_gauge_valve_is_set_aside_and_said() -> None:
    curve = list(FLAT)
    curve[5] = 900
    found = judged(curve)
    assert found.outliers == (5,)
    assert found.verdict is Verdict.TIGHT
    assert "reading 6 aside" in found.reason


def test_a_clean_curve_accuses_no_reading() -> None:
    assert judged(FLAT).outliers == ()
    assert judged(STEEP_LINE).outliers == ()


def test_tight_waits_for_the_end_of_the_hold() -> None:
    found = judged(FLAT[:6])
    assert found.verdict is Verdict.NOT_YET_CLEAR
    assert found.minutes_more == pytest.approx(5.0)
    assert "Finish the hold: 5 minutes" in found.next_action


def test_a_gross_leak_need_not_wait_for_the_end_of_the_hold() -> None:
    curve = [300 + 4000 * t for t in range(7)]
    assert judged(curve, ambient_c=10.0).verdict is Verdict.LEAKING


def test_a_slow_steady_rise_inside_the_limit_is_not_called_tight() -> None:
    found = judged([200 + 25 * t for t in range(11)], ambient_c=20.0)
    assert found.verdict is not Verdict.TIGHT
    assert found.next_action


def test_a_misread_start_still_gives_a_sound_answer() -> None:
    found = judged([154, 407, 1411, 2009, 2549, 3018, 3581, 4053, 4352, 4763, 5160], ambient_c=2.0)
    assert found.verdict in (Verdict.WET, Verdict.LEAKING, Verdict.NOT_YET_CLEAR)
    assert sum(chance for _, chance in found.chances) == pytest.approx(1.0)


def test_a_gross_leak_above_any_water_pressure_is_a_leak() -> None:
    # IAPWS: water at 20 C cannot exceed 17,546 microns
    found = judged([30_000 + 9_000 * t for t in range(11)], ambient_c=20.0)
    assert found.verdict is Verdict.LEAKING


def test_a_falling_pressure_means_it_is_not_isolated() -> None:
    found = judged([300 - 12 * t for t in range(11)])
    assert found.verdict is Verdict.NOT_YET_CLEAR
    assert "falling" in found.reason
    assert "Shut the valve" in found.next_action


def test_a_hold_begun_above_its_limit_without_a_rise_was_not_pulled_low_enough() -> None:
    found = judged([602, 598, 605, 601, 603, 600, 606, 602, 604, 603, 605], ambient_c=20.0)
    assert found.verdict is Verdict.NOT_YET_CLEAR
    assert "not pulled low enough" in found.reason
    assert "well below 500 microns" in found.next_action


def test_a_hold_begun_above_its_limit_with_a_steady_rise_is_a_leak() -> None:
    assert judged([600 + 200 * t for t in range(31)]).verdict is Verdict.LEAKING


def test_half_as_much_again_in_a_hold_is_more_than_hardly_rising() -> None:
    found = judged([600 + 35 * t for t in range(41)], ambient_c=20.0)
    assert found.verdict is Verdict.LEAKING


def test_an_equalising_drop_alone_is_no_fall() -> None:
    curve = [300, 260, 250, 249, 251, 250, 248, 251, 250, 249, 250]
    assert judged(curve).verdict is Verdict.TIGHT


@pytest.mark.parametrize("count", [0, 1, 2])
def test_fewer_than_three_readings_say_so(count: int) -> None:
    found = judged(FLAT[:count])
    assert found.verdict is Verdict.NOT_YET_CLEAR
    assert "at least three" in found.reason
    assert found.minutes_more is not None


def test_uneven_times_are_accepted() -> None:
    found = judged([250, 272, 280, 281], [0, 1.5, 6, 10.5])
    assert found.verdict is Verdict.TIGHT


def test_a_longer_criterion_can_be_chosen() -> None:
    # Lennox SPBH4 p. 20: not above 500 microns within 20 minutes
    readings = [VacuumReading(float(t), from_microns(p)) for t, p in enumerate(FLAT)]
    found = judge_decay(readings, limits=LIMITS["500 microns, 20 minutes"])
    assert found.verdict is Verdict.NOT_YET_CLEAR
    assert found.minutes_more == pytest.approx(10.0)


# criteria in documents: facts of makers' instructions and a US federal guide specification
@pytest.mark.parametrize(
    ("name", "microns", "minutes"),
    [("500 microns, 10 minutes", 500, 10), ("500 microns, 20 minutes", 500, 20),
     ("700 microns, 15 minutes", 700, 15), ("500 microns, 1 hour", 500, 60)],
)
def test_every_criterion_holds_what_its_name_says(name: str, microns: float, minutes: float
                                                  ) -> None:
    limits = LIMITS[name]
    assert limits.pass_below_pa == pytest.approx(from_microns(microns))
    assert limits.hold_minutes == minutes
    # a steady level fails above the limit and passes below it, the gauge's tenth apart
    times = [0.0, 0.5 * minutes, minutes]
    for share, verdict in ((0.85, Verdict.TIGHT), (1.15, Verdict.NOT_YET_CLEAR)):
        readings = [VacuumReading(t, from_microns(share * microns)) for t in times]
        assert judge_decay(readings, limits=limits).verdict is verdict


def test_every_limit_names_its_source() -> None:
    assert all(limits.source for limits in LIMITS.values())
    assert not any("EPA" in limits.source for limits in LIMITS.values())


def test_the_result_carries_its_inputs_and_turns_into_plain_values() -> None:
    plain = judged(FLAT, volume_m3=0.004).to_dict()
    assert plain["verdict"] == "tight"
    assert plain["volume_m3"] == 0.004
    assert plain["readings"][0]["minutes"] == 0.0
    assert sum(plain["chances"].values()) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("microns", "minutes", "more", "message"),
    [
        ([300, 310, 320], [0, 2, 2], {}, "times must grow"),
        ([300, 310, 320], [0, 3, 2], {}, "times must grow"),
        ([300, -5, 320], [0, 1, 2], {}, "pressure of reading 2"),
        ([300, 0, 320], [0, 1, 2], {}, "above zero"),
        ([300, float("nan"), 320], [0, 1, 2], {}, "finite"),
        ([300, 900000, 320], [0, 1, 2], {}, "permitted range"),
        ([300, 310, 320], [-1, 1, 2], {}, "time of reading 1"),
        ([300, 310, 320], [0, 1, 2], {"volume_m3": 0.0}, "volume"),
        ([300, 310, 320], [0, 1, 2], {"ambient_c": -300.0}, "ambient"),
        ([300, 310, 320], [0, 1, 2], {"gauge_noise_fraction": -0.1}, "noise"),
    ],
)
def test_bad_input_is_named(
    microns: list[float], minutes: list[float], more: dict[str, float], message: str
) -> None:
    with pytest.raises(TradeError, match=message):
        judged(microns, minutes, **more)


@pytest.mark.parametrize(
    ("rise", "verdict"),
    [(lambda t: 20 * t, Verdict.LEAKING), (lambda t: 900 * -math.expm1(-t / 4), Verdict.WET),
     (lambda t: 2 * t, Verdict.TIGHT)],
    ids=["leaking", "wet", "tight"],
)
def test_a_record_of_a_thousand_readings_is_judged_like_one_of_eleven(
    rise: Callable[[float], float], verdict: Verdict
) -> None:
    rng = random.Random(11)
    minutes = [20 * k / 999 for k in range(1000)]
    true = [300 + rise(t) for t in minutes]
    seen = [p + (0.01 * p + 5) * rng.gauss(0, 1) for p in true]
    seen[500] *= 1.6  # a valve touched
    long = judged(seen, minutes, ambient_c=20.0)
    assert long.verdict is verdict
    assert long.outliers == (500,)
    places = [k * 99 for k in range(11)]
    short = judged([seen[k] for k in places], [minutes[k] for k in places], ambient_c=20.0)
    assert short.verdict is verdict


def levelling(by: float, tau: float, steady: float = 0.0) -> list[float]:
    return [250 + by * -math.expm1(-t / tau) + steady * t for t in range(11)]


@pytest.mark.parametrize("tau", [2.0, 3.0, 5.0, 8.0])
def test_a_plateau_of_water_at_the_pipe_is_recognized(tau: float) -> None:
    # water at 20 C: 17,546 microns (IAPWS SR1-86)
    found = judged(levelling(17_296, tau), ambient_c=20.0)
    assert found.verdict is Verdict.WET
    assert found.water_phase == "liquid"
    assert found.water_temperature_c == pytest.approx(20.0, abs=1.5)
    assert "matches water at pipe temperature" in found.reason


def test_a_plateau_above_that_of_water_at_the_pipe_is_no_leak_but_not_water_alone() -> None:
    found = judged(levelling(17_296, 3.0), ambient_c=5.0)
    assert found.verdict is Verdict.WET
    assert found.fitted_final_pa == pytest.approx(from_microns(17_000), rel=0.03)
    assert "water alone does not explain it" in found.reason


def test_a_steady_part_beside_moisture_is_not_denied() -> None:
    found = judged(levelling(900, 2.0, steady=60.0), ambient_c=20.0)
    assert found.verdict is Verdict.WET
    assert "may be a leak as well" in found.reason
    assert "not a steady leak" not in found.reason


# A little water, wholly evaporated, also levels off below its own pressure
@pytest.mark.parametrize("curve", [LEVELLING, levelling(900, 2.0, steady=60.0)])
def test_a_low_level_is_never_said_to_exclude_water(curve: list[float]) -> None:
    found = judged(curve, ambient_c=20.0)
    assert found.verdict is Verdict.WET
    assert "does not exclude water" in found.reason


def test_a_fall_so_steep_that_no_rise_fits_has_no_plateau() -> None:
    readings = [VacuumReading(float(minute), pa) for minute, pa in enumerate((5787.0, 838.0, 1.0))]
    found = judge_decay(readings, volume_m3=0.005)
    assert found.plateau_pa is None
    assert found.water_temperature_c is None
