"""The nitrogen test against the gas law, CoolProp's nitrogen and published procedures."""

from __future__ import annotations

from itertools import pairwise

import pytest

from fieldvoice.quantity.constants import PA_PER_ATM, PA_PER_PSI, f_to_k, from_psig, psig
from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.nitrogen import tightness_test
from fieldvoice.trade.nitrogen.tightness_test import Holding


@pytest.mark.parametrize(
    ("start_psig", "start_f", "end_f", "ideal", "real"),
    # gas law at constant volume, and CoolProp 8.0.0 nitrogen at constant density
    [(450, 80, 65, 437.08, 436.13), (500, 70, 76, 505.83, 506.33), (150, 75, 55, 143.84, 143.67)],
)
def test_expected_pressure_uses_absolute_values(
    start_psig: float, start_f: float, end_f: float, ideal: float, real: float
) -> None:
    found = tightness_test.expected_pressure(from_psig(start_psig), f_to_k(start_f), f_to_k(end_f))
    assert psig(found.ideal_pa) == pytest.approx(ideal, abs=0.01)
    assert psig(found.real_pa) == pytest.approx(real, abs=0.05)


@pytest.mark.parametrize("megapascal", [0.5, 1.5, 3.8, 4.15])
def test_real_nitrogen_follows_coolprop(megapascal: float) -> None:
    library = pytest.importorskip("CoolProp.CoolProp")
    start = megapascal * 1e6 + PA_PER_ATM
    density = library.PropsSI("D", "P", start, "T", 300.15, "Nitrogen")
    expected = library.PropsSI("P", "D", density, "T", 273.15, "Nitrogen")
    found = tightness_test.expected_pressure(start, 300.15, 273.15)
    assert found.real_pa == pytest.approx(expected, rel=2e-4)


def test_the_metric_rule_of_thumb_is_not_used_where_it_fails() -> None:
    # makers print 0.01 MPa per C; at 3.8 MPa the gas law gives 0.0130 MPa per C
    found = tightness_test.expected_pressure(3.8e6 + PA_PER_ATM, 300.15, 293.15)
    assert (found.start_pa - found.ideal_pa) / 7.0 == pytest.approx(0.0130e6, rel=0.01)
    assert found.ideal_pa - PA_PER_ATM == pytest.approx(3.709e6, rel=2e-4)


def test_wrong_ways_are_not_ours() -> None:
    # 450 psig, 80 to 65 F: ratio on gauge pressure gives 437.49, ratio in F 365.6
    found = tightness_test.expected_pressure(from_psig(450), f_to_k(80), f_to_k(65))
    assert abs(psig(found.ideal_pa) - 437.49) > 0.3


@pytest.mark.parametrize(
    ("end_psig", "minutes", "verdict"),
    [(436.0, 60, Holding.HOLDS), (425.0, 60, Holding.LOSING), (450.0, 60, Holding.GAINING),
     (436.0, 20, Holding.NOT_YET_CLEAR), (425.0, 20, Holding.LOSING)],
)
def test_the_verdict_allows_for_temperature(
    end_psig: float, minutes: float, verdict: Holding
) -> None:
    found = tightness_test.judge_nitrogen(
        from_psig(450), f_to_k(80), from_psig(end_psig), f_to_k(65), minutes
    )
    assert found.verdict is verdict
    assert "oxygen" in found.caution


def test_less_than_the_gauge_can_see_is_not_called_a_leak() -> None:
    found = tightness_test.judge_nitrogen(from_psig(300), 300.0, from_psig(299), 300.0, 60)
    assert found.verdict is Holding.HOLDS
    assert found.uncertainty_pa > PA_PER_PSI


def test_the_smallest_leak_shrinks_with_the_hold() -> None:
    short = tightness_test.judge_nitrogen(from_psig(300), 300.0, from_psig(300), 300.0, 60,
                                    volume_m3=0.005)
    long = tightness_test.judge_nitrogen(from_psig(300), 300.0, from_psig(300), 300.0, 1440,
                                   volume_m3=0.005)
    assert short.smallest_leak_pa_m3_per_s is not None
    assert long.smallest_leak_pa_m3_per_s == pytest.approx(short.smallest_leak_pa_m3_per_s / 24)
    assert short.smallest_leak_pa_per_hour == pytest.approx(short.uncertainty_pa)


def test_stages_begin_low_and_end_at_the_nameplate() -> None:
    # Trane 5TTR5018 section 8.1: 150 psig first, then the design pressure for at least 60 minutes
    stages = tightness_test.staged_pressures(450 * PA_PER_PSI)
    assert stages[0].gauge_pa == pytest.approx(150 * PA_PER_PSI)
    assert stages[-1].gauge_pa == pytest.approx(450 * PA_PER_PSI)
    assert stages[-1].minutes >= 60
    assert all(a.gauge_pa < b.gauge_pa for a, b in pairwise(stages))


def test_no_stage_passes_a_low_design_pressure() -> None:
    stages = tightness_test.staged_pressures(120 * PA_PER_PSI)
    assert max(stage.gauge_pa for stage in stages) == pytest.approx(120 * PA_PER_PSI)


def test_a_gauge_too_coarse_for_the_test_is_refused() -> None:
    # Trane 5TTR5018 section 8.1: resolution at most 5 % of the test pressure
    tightness_test.check_gauge(450 * PA_PER_PSI, 5 * PA_PER_PSI)
    with pytest.raises(TradeError, match="finer gauge"):
        tightness_test.check_gauge(150 * PA_PER_PSI, 10 * PA_PER_PSI)


@pytest.mark.parametrize(
    ("start_pa", "start_k", "end_k"),
    [(-1.0, 300, 300), (0.0, 300, 300), (9e6, 300, 300), (3e6, 0, 300), (3e6, 300, 500),
     (3e6, -5, 300), (float("nan"), 300, 300)],
)
def test_impossible_values_are_refused(start_pa: float, start_k: float, end_k: float) -> None:
    with pytest.raises(TradeError):
        tightness_test.expected_pressure(start_pa, start_k, end_k)


@pytest.mark.parametrize("design_psig", [0, 50, 1000])
def test_unlikely_design_pressures_are_refused(design_psig: float) -> None:
    with pytest.raises(TradeError, match="design pressure"):
        tightness_test.staged_pressures(design_psig * PA_PER_PSI)


@pytest.mark.parametrize(
    ("design_psig", "stages_psig"),
    [(150, [75, 150]), (300, [150, 300]), (450, [150, 225, 450]), (550, [150, 275, 550])],
)
def test_no_stage_comes_twice(design_psig: float, stages_psig: list[float]) -> None:
    stages = tightness_test.staged_pressures(design_psig * PA_PER_PSI)
    found = [s.gauge_pa / PA_PER_PSI for s in stages]
    assert found == pytest.approx(stages_psig)
