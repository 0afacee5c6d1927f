"""Claims that must hold for any sensible input, tried on many."""

from __future__ import annotations

import math

from hypothesis import given, settings
from hypothesis import strategies as st

from fieldvoice.trade.nitrogen.real_gas import expected_pressure
from fieldvoice.trade.refrigerant import refrigerants
from fieldvoice.trade.refrigerant import saturation as rf
from fieldvoice.trade.vacuum import water
from fieldvoice.trade.vacuum.conductance import Passage, effective_speed
from fieldvoice.trade.vacuum.decay import VacuumReading, judge_decay
from fieldvoice.trade.vacuum.pumpdown import forecast_pull

pressures = st.floats(min_value=1.0, max_value=90_000.0)
curves = st.lists(pressures, min_size=3, max_size=14)


@given(st.floats(min_value=180.0, max_value=640.0))
def test_water_inverse_undoes_the_curve(kelvin: float) -> None:
    back = water.temperature_at_k(water.vapour_pressure_pa(kelvin))
    # the two published curves meet within 1e-6 of each other at the triple point
    assert math.isclose(back, kelvin, abs_tol=1e-4)


@given(st.sampled_from(refrigerants.names()), st.floats(min_value=0.0, max_value=1.0))
def test_saturation_inverse_undoes_the_curve(name: str, share: float) -> None:
    about = refrigerants.refrigerant(name)
    kelvin = about.low_k + share * (about.high_k - about.low_k)
    assert math.isclose(rf.dew_temperature_k(name, rf.dew_pressure_pa(name, kelvin)), kelvin,
                        abs_tol=1e-6)
    assert rf.bubble_pressure_pa(name, kelvin) >= rf.dew_pressure_pa(name, kelvin) * (1 - 1e-6)


@settings(deadline=None)
@given(curves, st.one_of(st.none(), st.floats(min_value=-20.0, max_value=45.0)))
def test_any_curve_gets_a_whole_verdict(values: list[float], ambient: float | None) -> None:
    readings = [VacuumReading(float(i), p) for i, p in enumerate(values)]
    found = judge_decay(readings, volume_m3=0.005, ambient_c=ambient)
    total = sum(chance for _, chance in found.chances) + found.stands_above
    assert math.isclose(total, 1.0, abs_tol=1e-9)
    assert 0.0 <= found.confidence <= 1.0 + 1e-9
    assert math.isfinite(found.fitted_rise_pa_per_min)
    assert found.reason
    assert found.next_action


@settings(deadline=None)
@given(curves, st.floats(min_value=5.0, max_value=500.0))
def test_any_pull_gets_an_ordered_forecast(values: list[float], target: float) -> None:
    readings = [VacuumReading(float(i), p) for i, p in enumerate(sorted(values, reverse=True))]
    found = forecast_pull(readings, target)
    assert 0.0 <= found.low_minutes <= found.minutes_to_target <= found.high_minutes
    assert 0.0 <= found.chance_of_reaching <= 1.0 + 1e-9


@given(st.floats(min_value=2e5, max_value=5e6), st.floats(min_value=250.0, max_value=330.0))
def test_nitrogen_at_its_own_temperature_does_not_change(pressure: float, kelvin: float) -> None:
    found = expected_pressure(pressure, kelvin, kelvin)
    assert math.isclose(found.ideal_pa, pressure, rel_tol=1e-12)
    assert math.isclose(found.real_pa, pressure, rel_tol=1e-9)


@given(st.floats(min_value=0.002, max_value=0.02), st.floats(min_value=0.1, max_value=5.0),
       st.floats(min_value=1.0, max_value=50_000.0))
def test_a_hose_never_speeds_a_pump_up(bore: float, length: float, pressure: float) -> None:
    found = effective_speed(2e-3, [Passage("hose", bore, length)], pressure)
    assert 0.0 < found.speed_m3_per_s <= 2e-3
    assert found.pump_inlet_pa <= pressure
