"""What the fit knows of gauges, walls and warming pipes changes what it dares to say."""

from __future__ import annotations

import math
from collections.abc import Sequence

import pytest

from fieldvoice.quantity.constants import PA_PER_MICRON, from_microns
from fieldvoice.trade.vacuum.decay import DecayVerdict, VacuumReading, Verdict, judge_decay
from fieldvoice.trade.vacuum.water import vapour_pressure_pa


def judged(microns: Sequence[float], ambient_c: float = 20.0) -> DecayVerdict:
    readings = [VacuumReading(float(t), from_microns(p)) for t, p in enumerate(microns)]
    return judge_decay(readings, ambient_c=ambient_c)


def behind_a_conductance(tau_min: float, warming_k: float) -> list[float]:
    """Readings each minute of water at 20 C whose pipe warms for ten minutes, by small steps."""
    level, shown = 300.0, [300.0]
    for second in range(1, 601):
        at_k = 293.15 + warming_k * second / 600.0
        level += (vapour_pressure_pa(at_k) / PA_PER_MICRON - level) / (60.0 * tau_min)
        if second % 60 == 0:
            shown.append(level)
    return shown


def test_a_level_within_the_gauges_own_error_of_the_limit_is_too_close_to_call() -> None:
    # common practice: a vacuum gauge is good to a tenth of its reading
    found = judged([485.0] * 11)
    assert found.verdict is Verdict.NOT_YET_CLEAR
    assert dict(found.chances)[Verdict.TIGHT] < 0.8
    assert judged([425.0] * 11).verdict is Verdict.TIGHT


@pytest.mark.parametrize("tau", [20.0, 30.0])
def test_water_at_a_warming_pipe_is_not_taken_for_a_leak(tau: float) -> None:
    # 5 F in ten minutes: water's pressure grows by a sixth (IAPWS) and the rise looks straight
    found = judged(behind_a_conductance(tau, warming_k=2.8))
    assert found.verdict is not Verdict.LEAKING
    assert dict(found.chances)[Verdict.LEAKING] < 0.8


def test_a_straight_rise_of_ten_minutes_is_likelier_a_leak_than_walls() -> None:
    # walls give off as 1/t; two thousand microns in ten minutes is more than pumped walls hold
    found = judged([250.0 + 200.0 * t for t in range(11)])
    assert dict(found.chances)[Verdict.LEAKING] > 0.8


def test_a_level_far_above_water_at_the_pipe_is_not_surely_water() -> None:
    # heads for 14,250 microns at a pipe of 5 C, where water has 6,545 (IAPWS SR1-86)
    curve = [250.0 + 14_000.0 * -math.expm1(-t / 15.0) for t in range(11)]
    assert dict(judged(curve, ambient_c=5.0).chances)[Verdict.WET] < 0.9
    assert judged(curve, ambient_c=20.0).verdict is Verdict.WET
