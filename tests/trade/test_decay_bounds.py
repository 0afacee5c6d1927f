"""The ends of what a hold may be asked of, and what a verdict turns into."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from fieldvoice.quantity.constants import PA_PER_ATM, PA_PER_MICRON, from_microns
from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.vacuum import decay, decay_types
from fieldvoice.trade.vacuum.decay import COMMON_PRACTICE, DecayVerdict, VacuumReading, judge_decay
from fieldvoice.trade.vacuum.decay_types import Verdict

READ = ((0.0, 250.0), (2.0, 275.0), (5.0, 280.0), (10.0, 283.0))


def judged(*readings: tuple[float, float], step: float | None = None, **more: Any) -> DecayVerdict:
    """Of (minute, microns)."""
    return judge_decay([VacuumReading(m, from_microns(p), step and from_microns(step))
                        for m, p in readings or READ], **more)


@pytest.mark.parametrize(
    ("more", "named"),
    [
        ({"ambient_c": -60.0}, None), ({"ambient_c": -60.1}, "ambient temperature"),
        ({"ambient_c": 70.0}, None), ({"ambient_c": 70.1}, "ambient temperature"),
        ({"gauge_noise_fraction": 0.0}, None), ({"gauge_noise_fraction": 0.5}, None),
        ({"gauge_noise_fraction": 0.51}, "gauge noise fraction"),
        ({"gauge_resolution_pa": 0.01 * PA_PER_MICRON}, None),
        ({"gauge_resolution_pa": 0.009 * PA_PER_MICRON}, "gauge resolution"),
        ({"gauge_resolution_pa": PA_PER_ATM}, None),
        ({"gauge_resolution_pa": 1.01 * PA_PER_ATM}, "gauge resolution"),
        ({"limits": replace(COMMON_PRACTICE, sure_at=0.5)}, None),
        ({"limits": replace(COMMON_PRACTICE, sure_at=0.49)}, "sure_at"),
        ({"limits": replace(COMMON_PRACTICE, sure_at=0.999)}, None),
        ({"limits": replace(COMMON_PRACTICE, sure_at=0.9999)}, "sure_at"),
        ({"volume_m3": 1e-9}, None), ({"volume_m3": 0.0}, "system volume"),
    ],
)
def test_a_range_ends_where_it_is_said_to(more: dict[str, Any], named: str | None) -> None:
    if named is None:
        assert judged(**more).readings
        return
    with pytest.raises(TradeError, match=named):
        judged(**more)


@pytest.mark.parametrize(
    ("times", "pascal", "named"),
    # a tenth above an atmosphere of 101,325 Pa is 111,457.5
    [((0.0, 1.0, 1e5), 111_457.0, None), ((0.0, 1.0, 2.0), 111_458.0, "pressure of reading 1"),
     ((0.0, 1.0, 100_001.0), 100.0, "time of reading 3"),
     ((0.0, 0.5, 0.5), 100.0, r"time of reading 3 is 0.5 minutes, not after .* \(0.5\)"),
     ((-0.1, 0.5, 1.0), 100.0, "time of reading 1")],
)
def test_readings_end_at_a_tenth_above_an_atmosphere_and_a_hundred_thousand_minutes(
    times: tuple[float, ...], pascal: float, named: str | None
) -> None:
    readings = [VacuumReading(t, pascal) for t in times]
    if named is None:
        assert judge_decay(readings).readings == tuple(readings)
        return
    with pytest.raises(TradeError, match=named):
        judge_decay(readings)


@pytest.mark.parametrize(
    ("readings", "falls"),
    [
        # standard errors 1 % and 5 microns; z = slope (sum w (t - mean)^2)^0.5
        (((0, 7700), (2, 7500), (3, 6750), (4, 6000)), True),  # z = -13
        (((0, 310), (2, 302), (31, 286), (60, 270)), False),  # a tenth, but z = -2.8
        (((0, 310), (2, 304), (31, 279), (60, 254)), True),  # z = -4.4
        (((0, 1020), (2, 1000), (15, 955), (30, 910), (45, 908), (60, 905)), False),  # 9.5 %
        (((0, 1020), (2, 1000), (15, 945), (30, 910), (45, 885), (60, 870)), True),
        (((0, 900), (1, 500), (1.9, 400)), False),  # still evening out
        (((0, 500), (1.5, 400), (2, 395), (4, 300)), False),  # two settled readings are too few
    ],
)
def test_a_fall_is_one_by_four_errors_and_a_tenth(
    readings: tuple[tuple[float, float], ...], falls: bool
) -> None:
    assert ("falling" in judged(*readings).reason) is falls


def test_a_display_that_moves_by_steps_knows_less_than_its_digits() -> None:
    # a rectangular error of one step: its deviation is step / 12^0.5, 29 microns of a hundred
    plain = judged(gauge_noise_fraction=0.0, gauge_resolution_pa=from_microns(28.87))
    stepped = judged(step=100.0, gauge_noise_fraction=0.0, gauge_resolution_pa=from_microns(0.01))
    assert stepped.fitted_final_pa == pytest.approx(plain.fitted_final_pa, rel=1e-4)
    assert dict(stepped.chances)[Verdict.TIGHT] == pytest.approx(
        dict(plain.chances)[Verdict.TIGHT], abs=1e-3)


def test_the_gauge_and_the_criterion_in_force_come_along() -> None:
    found = judged(gauge_resolution_pa=2.0, gauge_noise_fraction=0.02)
    assert (found.gauge_resolution_pa, found.gauge_noise_fraction) == (2.0, 0.02)
    assert found.limits is COMMON_PRACTICE
    usual = judged()
    # common practice: a gauge good to 1 % and five microns; 0.1333224 Pa a micron (NIST SP 811)
    assert usual.gauge_resolution_pa == pytest.approx(5 * 0.133_322_4)
    assert usual.gauge_noise_fraction == 0.01
    bare = DecayVerdict(**{name: getattr(usual, name) for name in (
        "verdict", "confidence", "chances", "model", "fitted_rise_pa_per_min", "fitted_final_pa",
        "plateau_pa", "water_temperature_c", "water_phase", "leak_rate_pa_m3_per_s",
        "leak_rate_micron_l_per_s", "missed_leak_pa_m3_per_s", "missed_leak_kg_per_year",
        "minutes_more", "outliers", "reason", "next_action", "readings", "limits", "volume_m3",
        "ambient_c")})
    assert bare.gauge_resolution_pa == pytest.approx(5 * 0.133_322_4)
    assert (bare.gauge_noise_fraction, bare.stands_above, bare.refrigerant) == (0.01, 0.0, None)


@pytest.mark.parametrize(("stands", "chances"), [(0.0, 3), (0.25, 4)])
def test_a_chance_of_not_low_enough_is_shown_where_there_is_one(stands: float, chances: int
                                                               ) -> None:
    plain = replace(judged(), stands_above=stands).to_dict()
    assert len(plain["chances"]) == chances
    assert plain["chances"].get("not-low-enough", 0.0) == stands
    assert "stands_above" not in plain
    assert plain["verdict"] == "tight"
    assert list(plain["chances"])[:3] == ["tight", "wet", "leaking"]


@pytest.mark.parametrize(
    ("name", "pascal", "minutes"),
    # 0.1333224 Pa a micron (NIST SP 811)
    [("500 microns, 10 minutes", 66.6612, 10), ("500 microns, 20 minutes", 66.6612, 20),
     ("700 microns, 15 minutes", 93.3257, 15), ("500 microns, 1 hour", 66.6612, 60)],
)
def test_each_criterion_turns_into_plain_values(name: str, pascal: float, minutes: float) -> None:
    plain = decay_types.LIMITS[name].to_dict()
    assert plain["name"] == name
    assert plain["pass_below_pa"] == pytest.approx(pascal, rel=1e-5)
    assert (plain["hold_minutes"], plain["sure_at"]) == (minutes, 0.9)
    assert plain["source"]


def test_a_verdict_is_given_from_nine_in_ten_on() -> None:
    assert decay.COMMON_PRACTICE.sure_at == 0.9
    close = judged((0, 485.0), (5, 485.0), (10, 485.0))
    assert close.verdict is Verdict.NOT_YET_CLEAR
    assert 0.5 < close.confidence < 0.9
    asked = replace(COMMON_PRACTICE, sure_at=0.5)
    assert judged((0, 485.0), (5, 485.0), (10, 485.0), limits=asked).verdict is Verdict.TIGHT
