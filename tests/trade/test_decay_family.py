"""The curves of a rise that slows, against the equations they solve, and how likely each is."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fieldvoice.trade.vacuum import decay_family
from fieldvoice.trade.vacuum.decay_family import NAMES, Curves, family, tau_grid


def at(tau: float, drift: float, falling: bool, minutes: float) -> float:
    curves = Curves(np.array([tau]), np.array([drift]), np.array([falling]))
    return float(curves.at(minutes)[0, 0])


def test_water_behind_a_conductance_saturates_and_outgassing_grows_as_a_logarithm() -> None:
    assert at(5.0, 0.0, False, 5.0) == pytest.approx(1.0 - 1.0 / math.e)
    assert at(5.0, 0.0, False, 15.0) == pytest.approx(1.0 - math.exp(-3.0))
    assert at(7.0, 0.0, True, 7.0) == pytest.approx(math.log(2.0))
    assert at(7.0, 0.0, True, 21.0) == pytest.approx(math.log(4.0))


@pytest.mark.parametrize("drift", [-0.012, 0.017])
@pytest.mark.parametrize("tau", [3.0, 40.0])
def test_water_at_a_warming_pipe_follows_its_level(tau: float, drift: float) -> None:
    # tau dk/dt = 1 + drift min(t, 10) - k, integrated by the midpoint rule in 3 ms steps
    step, level, passed = 0.05 / 10, 0.0, {}
    for place in range(1, round(30.0 / step) + 1):
        middle = (place - 0.5) * step
        head = 1.0 + drift * min(middle, 10.0)
        half = level + 0.5 * step * (head - level) / tau
        level += step * (head - half) / tau
        passed[place] = level
    for minutes in (2.0, 9.0, 10.0, 11.0, 30.0):
        assert at(tau, drift, False, minutes) == pytest.approx(passed[round(minutes / step)],
                                                               rel=1e-4)


@pytest.mark.parametrize(("span", "slowest"), [(3.0, 300.0), (60.0, 300.0), (100.0, 500.0)])
def test_time_constants_reach_from_equalising_to_many_holds(span: float, slowest: float) -> None:
    grid = tau_grid(span)
    assert (len(grid), grid[0], grid[-1]) == (32, 1.0, pytest.approx(slowest))
    assert grid[1:] / grid[:-1] == pytest.approx(slowest ** (1 / 31))


def odds(name: str, wide: bool | None = None, full: bool | None = None) -> float:
    tried = family(10.0)
    chosen = tried.name == NAMES.index(name)
    if wide is not None:
        chosen &= tried.wide == wide
    if full is not None:
        chosen &= tried.full == full
    return float(np.exp(tried.log_prior)[chosen].sum())


def test_each_name_has_its_odds_however_many_shapes_it_has() -> None:
    # a pin: the assumptions as settled on simulated holds
    expected = {"flat": 0.3, "line": 0.35, "saturating": 0.5, "line and saturating": 0.06,
                "outgassing": 0.1, "line and outgassing": 0.2}
    assert {name: odds(name) for name in NAMES} == pytest.approx(expected)


def test_one_start_in_five_evens_out_widely_and_three_wet_systems_in_five_are_full() -> None:
    assert odds("flat", wide=True) == pytest.approx(0.2 * 0.3)
    assert odds("line", wide=True) == pytest.approx(0.2 * 0.35)
    assert odds("saturating", full=True) == pytest.approx(0.6 * 0.5)
    assert sum(odds(name, wide=True) for name in NAMES[2:]) == 0.0
    assert sum(odds(name, full=True) for name in NAMES if name != "saturating") == 0.0


def test_slow_water_is_rare_and_what_fills_the_system_at_once_rarer() -> None:
    tried = family(10.0)
    tau, drift = tried.curves.tau[tried.curve], tried.curves.drift[tried.curve]

    def prior(name: int, *, full: bool, warmed: float = 0.0) -> dict[float, float]:
        chosen = (tried.name == name) & (tried.full == full) & (drift == warmed)
        return dict(zip(tau[chosen].tolist(), np.exp(tried.log_prior[chosen]).tolist(),
                        strict=True))

    some, full = prior(decay_family.LEVEL, full=False), prior(decay_family.LEVEL, full=True)
    both = prior(decay_family.LINE_LEVEL, full=False)
    first, last = min(some), max(some)
    # 1 / (1 + (tau / 60)^2), from one minute to 300: 1 to 26
    assert some[first] / some[last] == pytest.approx(26.0 / (1.0 + 1.0 / 3600.0))
    assert both[min(both)] / both[max(both)] == pytest.approx(
        (1.0 + (max(both) / 60.0) ** 2) / (1.0 + 1.0 / 3600.0))
    # the same, times (tau / 8)^2 below eight minutes
    assert full[first] / full[last] == pytest.approx(some[first] / some[last] / 64.0)
    # each of every third slow curve counts for three
    for warmed in (-0.012, 0.009, 0.017):
        drifting = prior(decay_family.LEVEL, full=True, warmed=warmed)
        slow = [t for t in sorted(some) if t >= 8.0]
        assert list(drifting) == pytest.approx(slow[::3])
        assert [drifting[t] / full[t] for t in drifting] == pytest.approx([3.0] * len(drifting))
    assert set(np.unique(tried.curves.drift)) == {-0.012, 0.0, 0.009, 0.017}


def test_a_pipe_that_warms_five_fahrenheit_gains_a_sixth_of_water_in_ten_minutes() -> None:
    # IAPWS SR1-86 at 20 C: d ln p / dT = 0.062 a kelvin (Clausius-Clapeyron), 2.8 K
    assert max(decay_family.DRIFTS) * 10.0 == pytest.approx(0.062 * 2.8, abs=0.01)


def test_walls_are_tried_for_pumping_of_minutes_to_hours() -> None:
    tried = family(10.0)
    # a pin of the times tried
    assert tried.curves.tau[tried.curves.falling].tolist() == [3.0, 7.0, 16.0, 38.0, 90.0]
    walls = tried.curves.falling[tried.curve]
    assert set(tried.name[walls]) == {decay_family.WALLS, decay_family.LINE_WALLS}
    assert sum(walls) == 10
