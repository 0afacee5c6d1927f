"""The nitrogen test against the gas law, CoolProp's nitrogen and published procedures."""

from __future__ import annotations

from itertools import pairwise
from random import Random
from typing import Any

import pytest

from fieldvoice.quantity.constants import PA_PER_ATM, PA_PER_PSI, f_to_k, from_psig, psig
from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.nitrogen import tightness_test
from fieldvoice.trade.nitrogen.real_gas import expected_pressure
from fieldvoice.trade.nitrogen.tightness_test import Holding, NitrogenVerdict


@pytest.mark.parametrize(
    ("start_psig", "start_f", "end_f", "ideal", "real"),
    # gas law at constant volume, and CoolProp 8.0.0 nitrogen at constant density
    [(450, 80, 65, 437.08, 436.13), (500, 70, 76, 505.83, 506.33), (150, 75, 55, 143.84, 143.67)],
)
def test_expected_pressure_uses_absolute_values(
    start_psig: float, start_f: float, end_f: float, ideal: float, real: float
) -> None:
    found = expected_pressure(from_psig(start_psig), f_to_k(start_f), f_to_k(end_f))
    assert psig(found.ideal_pa) == pytest.approx(ideal, abs=0.01)
    assert psig(found.real_pa) == pytest.approx(real, abs=0.05)


@pytest.mark.parametrize("megapascal", [0.5, 1.5, 3.8, 4.15])
def test_real_nitrogen_follows_coolprop(megapascal: float) -> None:
    library = pytest.importorskip("CoolProp.CoolProp")
    start = megapascal * 1e6 + PA_PER_ATM
    density = library.PropsSI("D", "P", start, "T", 300.15, "Nitrogen")
    expected = library.PropsSI("P", "D", density, "T", 273.15, "Nitrogen")
    found = expected_pressure(start, 300.15, 273.15)
    assert found.to_dict()["start_pa"] == start
    assert found.real_pa == pytest.approx(expected, rel=2e-4)


@pytest.mark.parametrize("kelvin", [233.15, 250.0, 270.0, 290.0, 310.0, 330.0, 343.15])
def test_real_nitrogen_follows_coolprop_from_the_coldest_to_the_hottest(kelvin: float) -> None:
    library = pytest.importorskip("CoolProp.CoolProp")
    density = library.PropsSI("D", "P", 6.0e6, "T", 300.15, "Nitrogen")
    there = library.PropsSI("P", "D", density, "T", kelvin, "Nitrogen")
    assert expected_pressure(6.0e6, 300.15, kelvin).real_pa == pytest.approx(there, rel=4e-4)
    if there < 7.0e6:
        assert expected_pressure(there, kelvin, 300.15).real_pa == pytest.approx(6.0e6, rel=4e-4)


def test_the_metric_rule_of_thumb_is_not_used_where_it_fails() -> None:
    # makers print 0.01 MPa per C; at 3.8 MPa the gas law gives 0.0130 MPa per C
    found = expected_pressure(3.8e6 + PA_PER_ATM, 300.15, 293.15)
    assert (found.start_pa - found.ideal_pa) / 7.0 == pytest.approx(0.0130e6, rel=0.01)
    assert found.ideal_pa - PA_PER_ATM == pytest.approx(3.709e6, rel=2e-4)


def test_wrong_ways_are_not_ours() -> None:
    # 450 psig, 80 to 65 F: ratio on gauge pressure gives 437.49, ratio in F 365.6
    found = expected_pressure(from_psig(450), f_to_k(80), f_to_k(65))
    assert abs(psig(found.ideal_pa) - 437.49) > 0.3


def judged(
    start_psig: float, end_psig: float, minutes: float = 60.0, *, start_f: float = 70.0,
    end_f: float = 70.0, step_psi: float = 1.0, **more: Any,
) -> NitrogenVerdict:
    return tightness_test.judge_nitrogen(
        from_psig(start_psig), f_to_k(start_f), from_psig(end_psig), f_to_k(end_f), minutes,
        gauge_resolution_pa=step_psi * PA_PER_PSI, **more,
    )


@pytest.mark.parametrize(
    ("end_psig", "minutes", "verdict"),
    [(436.0, 60, Holding.HOLDS), (425.0, 60, Holding.LOSING), (450.0, 60, Holding.GAINING),
     (436.0, 20, Holding.NOT_YET_CLEAR), (425.0, 20, Holding.LOSING)],
)
def test_the_verdict_allows_for_temperature(
    end_psig: float, minutes: float, verdict: Holding
) -> None:
    found = judged(450, end_psig, minutes, start_f=80, end_f=65)
    assert found.verdict is verdict
    assert "oxygen" in found.caution


@pytest.mark.parametrize(
    ("start_psig", "end_psig", "minutes", "hold", "verdict"),
    # a step of 1 psi, temperatures within 1 F: 2.12 psi at 450 psig, 1.24 at 150 (worked out below)
    [(450, 447.0, 60, 60, Holding.LOSING), (450, 447.8, 60, 60, Holding.LOSING),
     (450, 447.95, 60, 60, Holding.NOT_YET_CLEAR), (450, 449.0, 60, 60, Holding.NOT_YET_CLEAR),
     (450, 449.1, 60, 60, Holding.HOLDS), (450, 452.05, 60, 60, Holding.HOLDS),
     (450, 452.2, 60, 60, Holding.GAINING), (450, 450.0, 59.9, 60, Holding.NOT_YET_CLEAR),
     (150, 147.2, 15, 15, Holding.LOSING), (150, 149.0, 15, 15, Holding.NOT_YET_CLEAR),
     (150, 150.0, 15, 15, Holding.HOLDS)],
)
def test_a_loss_that_shows_at_equal_temperature_is_not_passed(
    start_psig: float, end_psig: float, minutes: float, hold: float, verdict: Holding
) -> None:
    assert judged(start_psig, end_psig, minutes, hold_minutes=hold).verdict is verdict


def test_uncertainty_is_that_of_two_gauge_steps_and_two_temperatures() -> None:
    # Rectangular: step / root 12 for each reading, error / root 3 for each temperature (JCGM
    # 100:2008 4.3.7, from memory). By hand at 450 psig, 70 F (464.696 psia, 529.67 R):
    # root 2 / root 12 = 0.40825; root 2 x 464.696 / 529.67 / root 3 = 0.71635; together 0.82450
    found = judged(450, 450)
    assert found.uncertainty_pa / PA_PER_PSI == pytest.approx(0.82450, rel=1e-4)
    # two-sided 99 %: 2.57583; one-sided 95 %: 1.64485 (normal distribution)
    assert found.tolerance_pa / PA_PER_PSI == pytest.approx(2.57583 * 0.82450, rel=1e-4)
    assert found.smallest_leak_pa_per_hour / PA_PER_PSI == pytest.approx(
        (2.57583 + 1.64485) * 0.82450, rel=1e-4)


@pytest.mark.parametrize(
    ("step_psi", "thermometer_f", "psi"),
    # 450 psig from 80 to 65 F is 436.13 psig (CoolProp): the first reading counts 450.83/464.70 =
    # 0.97015 times, the temperatures 450.83/539.67 and 450.83/524.67 psi a degree
    [(1.0, 0.0, 0.40220), (2.0, 0.0, 0.80440), (0.001, 1.0, 0.69189), (1.0, 1.0, 0.80030),
     (1.0, 3.0, 2.11437)],
)
def test_each_part_of_the_uncertainty_counts(
    step_psi: float, thermometer_f: float, psi: float
) -> None:
    found = judged(450, 436, start_f=80, end_f=65, step_psi=step_psi,
                   thermometer_k=thermometer_f / 1.8)
    assert found.uncertainty_pa / PA_PER_PSI == pytest.approx(psi, rel=5e-4)


@pytest.mark.parametrize(("start_psig", "leaking"), [(150, False), (450, False), (450, True)])
def test_verdicts_are_as_sure_as_they_say(start_psig: float, leaking: bool) -> None:
    # simulated by CoolProp's nitrogen, with a gauge that rounds and temperatures off by up to 1 F:
    # of the tight 1 in 100 is called losing or gaining, of those with the smallest leak 95 in 100
    # (within what a thousand systems can tell)
    library = pytest.importorskip("CoolProp.CoolProp")
    random, found = Random(4), []
    leak = judged(start_psig, start_psig).smallest_leak_pa_per_hour if leaking else 0.0
    for _ in range(1000):
        first_k, first_pa = random.uniform(285, 300), from_psig(start_psig + random.random())
        last_k = first_k + random.uniform(-4, 4)
        density = library.PropsSI("D", "P", first_pa, "T", first_k, "Nitrogen")
        last_pa = library.PropsSI("P", "D", density, "T", last_k, "Nitrogen") - leak
        found.append(tightness_test.judge_nitrogen(
            from_psig(round(psig(first_pa))), first_k + random.uniform(-1, 1) / 1.8,
            from_psig(round(psig(last_pa))), last_k + random.uniform(-1, 1) / 1.8, 60,
        ).verdict)
    called = (found.count(Holding.LOSING) + found.count(Holding.GAINING)) / len(found)
    assert 0.92 <= called <= 0.97 if leaking else 0.001 <= called <= 0.015


def test_no_loss_forgives_nothing_but_less_than_a_step() -> None:
    # Trane 5TTR5018 section 8.1: at least 60 minutes, no loss
    assert judged(450, 449, forgiven=0.0).verdict is Holding.LOSING
    assert judged(450, 449.1, forgiven=0.0).verdict is Holding.HOLDS
    assert judged(450, 435.3, forgiven=0.0, start_f=80, end_f=65).verdict is Holding.HOLDS
    assert judged(450, 435.1, forgiven=0.0, start_f=80, end_f=65).verdict is Holding.LOSING
    assert judged(450, 451, forgiven=0.0).verdict is Holding.HOLDS  # one step up may be rounding
    assert judged(450, 451.1, forgiven=0.0).verdict is Holding.GAINING
    found = judged(450, 449.9, step_psi=0.1, forgiven=0.0)
    assert found.verdict is Holding.LOSING
    assert "a loss of 0.1 or more fails" in found.reason


def test_a_step_is_never_called_significant_by_itself() -> None:
    # an exact thermometer: 2.576 x 0.408 = 1.05 steps; at 80 % less than a step would do
    found = judged(450, 449.2, thermometer_k=0.0, forgiven=0.8)
    assert found.tolerance_pa == pytest.approx(PA_PER_PSI)
    assert found.verdict is Holding.HOLDS


def test_a_forgiven_step_is_watched_until_such_a_leak_would_show() -> None:
    # tolerance 2.1238 psi: a leak of a step an hour is past it after 127.4 minutes
    first = judged(450, 449, 60)
    assert first.minutes_more == 68
    assert first.next_action == "Nothing is proved yet: hold 68 minutes more."
    assert judged(450, 449, 127).verdict is Holding.NOT_YET_CLEAR
    assert judged(450, 449, 128).verdict is Holding.HOLDS
    assert judged(450, 450, 128).minutes_more is None


def test_a_gauge_too_coarse_for_so_short_a_hold_holds_on() -> None:
    # steps of 5 psi at 150 psig: 2.5758 x hypot(2.0412, 0.2539) = 5.298 psi; 5 % of the pressure an
    # hour (Trane 5TTR5018 section 8.1) shows after 60 x 5.298 / 7.5 = 42.4 minutes
    coarse = judged(150, 150, 15, step_psi=5, hold_minutes=15)
    assert coarse.verdict is Holding.NOT_YET_CLEAR
    assert coarse.minutes_more == 28
    assert "hold 28 minutes more" in coarse.next_action
    assert judged(150, 150, 43, step_psi=5, hold_minutes=15).verdict is Holding.HOLDS


def test_the_smallest_leak_shrinks_with_the_hold() -> None:
    short, long = (judged(300, 300, minutes, volume_m3=0.005) for minutes in (60, 1440))
    assert short.smallest_leak is not None
    assert long.smallest_leak is not None
    assert long.smallest_leak.pa_m3_per_s == pytest.approx(short.smallest_leak.pa_m3_per_s / 24)
    assert short.smallest_leak.pa_m3_per_s == pytest.approx(
        short.smallest_leak_pa_per_hour * 0.005 / 3600)


def test_the_reason_tells_the_mass_a_year_that_could_be_missed() -> None:
    # 3.480 psi an hour (worked out above) from 2.2 L at 294.26 K: 0.014663 Pa m3/s = 5.993e-6 mol/s
    # = 189.1 mol a year: 5.3 kg of nitrogen (28.013 g/mol), 13.7 kg of R-410A (72.6 g/mol)
    found = judged(450, 450, volume_m3=2.2e-3, refrigerant="410a")
    assert found.reason == (
        "Expected 450.0 psig at 70 °F, read 450.0: 0.0 psi lost; less than 2.1 may be gauge and "
        "thermometer. A leak under 3.5 psi an hour may not show: from 2.2 L, 5.3 kg of nitrogen a "
        "year, 14 kg of R-410A if as many moles a second escape.")
    day = judged(450, 450.4, 1440, volume_m3=2.2e-3)
    assert "0.4 psi gained" in day.reason
    # the day's 3.480 psi: 100 g a year for each litre
    assert "990 g of nitrogen" in judged(450, 450, 1440, volume_m3=9.9e-3).reason
    assert "1 kg of nitrogen" in judged(450, 450, 1440, volume_m3=10.1e-3).reason
    assert "from 2.2 L, 220 g of nitrogen a year." in day.reason
    assert "follows from the system volume" in judged(450, 450).reason
    assert judged(450, 447).reason == (
        "Expected 450.0 psig at 70 °F, read 447.0: 3.0 psi lost; less than 2.1 may be gauge and "
        "thermometer.")
    assert "from 20,000 L, 48,000 kg" in judged(450, 450, volume_m3=20.0).reason


def test_what_to_do_follows_the_verdict() -> None:
    assert "bubbles" in judged(450, 440).next_action
    assert "cylinder valve is shut" in judged(450, 460).next_action
    assert "then evacuate" in judged(450, 450).next_action


def test_a_verdict_keeps_what_it_was_worked_out_from() -> None:
    found = judged(450, 449.5, 61, hold_minutes=60, thermometer_k=0.4, volume_m3=0.002,
                   forgiven=0.95).to_dict()
    assert found["verdict"] == "holds"
    assert found["deviation_pa"] == pytest.approx(-0.5 * PA_PER_PSI)
    assert found["measured_pa"] == pytest.approx(from_psig(449.5))
    kept = ("minutes", "hold_minutes", "thermometer_k", "volume_m3", "forgiven")
    assert [found[name] for name in kept] == [61, 60, 0.4, 0.002, 0.95]


@pytest.mark.parametrize(
    ("more", "message"),
    [({"hold_minutes": 0.0}, "hold in force"), ({"forgiven": 1.0}, "forgiven share"),
     ({"forgiven": -0.1}, "forgiven share"), ({"thermometer_k": 10.1}, "thermometer error"),
     ({"thermometer_k": -0.1}, "thermometer error"), ({"volume_m3": 0.0}, "system volume"),
     ({"atmosphere_pa": 14_999.0}, "atmosphere"), ({"atmosphere_pa": 111_460.0}, "atmosphere"),
     ({"volume_m3": 0.002, "refrigerant": "R-77"}, "not known"),
     ({"step_psi": 0.0}, "gauge resolution"), ({"minutes": 0.0}, "hold is 0")],
)
def test_a_verdict_on_impossible_values_is_refused(more: dict[str, Any], message: str) -> None:
    with pytest.raises(TradeError, match=message):
        judged(450, 450, **more)
    with pytest.raises(TradeError, match="end pressure"):
        judged(450, -15)


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
    [(-1.0, 300, 300), (0.0, 300, 300), (5e4, 300, 300), (9e6, 300, 300), (3e6, 0, 300),
     (3e6, 300, 500), (3e6, -5, 300), (float("nan"), 300, 300)],
)
def test_impossible_values_are_refused(start_pa: float, start_k: float, end_k: float) -> None:
    with pytest.raises(TradeError):
        expected_pressure(start_pa, start_k, end_k)


def test_the_least_and_the_coarsest_that_can_be_judged() -> None:
    tightness_test.check_gauge(100.0, 5.0)  # 5 % of the test pressure, exactly
    with pytest.raises(TradeError, match="finer gauge"):
        tightness_test.check_gauge(100.0, 5.001)
    with pytest.raises(TradeError, match="is 8 psi, over 5 % of the test pressure 150 psig"):
        tightness_test.check_gauge(150 * PA_PER_PSI, 8 * PA_PER_PSI)
    with pytest.raises(TradeError, match="test pressure"):
        judged(-1, -1)


def test_the_widest_values_are_judged() -> None:
    assert judged(450, 1000).verdict is Holding.GAINING
    doubtful = judged(450, 450, thermometer_k=10.0, forgiven=0.9999)
    assert doubtful.verdict is Holding.NOT_YET_CLEAR  # more than 5 % of the pressure an hour
    assert judged(450, 450, atmosphere_pa=15_000.0).verdict is Holding.HOLDS
    assert judged(450, 450, atmosphere_pa=111_450.0).verdict is Holding.HOLDS
    for end_pa in (0.9, 7.0e6 + 1):
        with pytest.raises(TradeError, match="end pressure"):
            tightness_test.judge_nitrogen(3.0e6, 300.0, end_pa, 300.0, 60)
    lost = tightness_test.judge_nitrogen(3.0e6, 300.0, 1.0, 300.0, 60)
    assert lost.verdict is Holding.LOSING


def test_each_stage_says_who_asks_for_it() -> None:
    # Trane 5TTR5018 section 8.1: 150 psig first, then the design pressure for at least 60 minutes
    high, low = (tightness_test.staged_pressures(psi * PA_PER_PSI) for psi in (300, 250))
    assert "150 psig first" in high[0].source
    assert "half of a low design pressure first: common practice" in low[0].source
    assert [stage.minutes for stage in high] == [5, 60]
    half_way = tightness_test.staged_pressures(450 * PA_PER_PSI)
    assert [stage.minutes for stage in half_way] == [5, 5, 60]
    assert low[0].gauge_pa == pytest.approx(125 * PA_PER_PSI)


@pytest.mark.parametrize("design_psig", [100, 900])
def test_the_lowest_and_highest_plates_are_taken(design_psig: float) -> None:
    assert tightness_test.staged_pressures(design_psig * PA_PER_PSI)


@pytest.mark.parametrize("design_psig", [0, 50, 99, 901, 1000])
def test_unlikely_design_pressures_are_refused(design_psig: float) -> None:
    with pytest.raises(TradeError, match="design pressure"):
        tightness_test.staged_pressures(design_psig * PA_PER_PSI)


@pytest.mark.parametrize(
    ("design_psig", "stages_psig"),
    [(150, [75, 150]), (300, [150, 300]), (355, [150, 355]), (365, [150, 182.5, 365]),
     (450, [150, 225, 450]), (550, [150, 275, 550])],
)
def test_no_stage_comes_twice(design_psig: float, stages_psig: list[float]) -> None:
    stages = tightness_test.staged_pressures(design_psig * PA_PER_PSI)
    found = [s.gauge_pa / PA_PER_PSI for s in stages]
    assert found == pytest.approx(stages_psig)


def test_words_give_the_degrees_of_the_site() -> None:
    # 70 F is 21.1 C (NIST SP 811 appendix B)
    found = tightness_test.judge_nitrogen(
        from_psig(450), f_to_k(70), from_psig(447), f_to_k(70), 60, degrees="degC")
    assert "450.0 psig at 21 °C" in found.reason
    assert "°F" not in found.reason
