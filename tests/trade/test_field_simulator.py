"""The independent simulator keeps to what is known of each cause alone."""

from dataclasses import replace

import numpy as np
import pytest

from fieldvoice.trade.studies import field_simulator as f
from fieldvoice.trade.studies.field_systems import MICRON_PA, Systems, draw, read_gauge

N = 40


def quiet(**changed: float) -> Systems:
    """Systems with nothing in them but what is asked for."""
    systems = draw(N, 3)
    none = {name: np.zeros(N) for name in
            ("leak_pa_m3_per_s", "gassing_pa_m3", "water_kg", "drift_k_per_s", "core_in")}
    given = {name: np.full(N, value) for name, value in changed.items()}
    return replace(systems, **(none | given))


def evacuated(systems: Systems, microns: float = 200.0) -> f.State:
    state = f.at_rest(systems)
    air = np.full(N, microns * MICRON_PA)
    return replace(state, air_out_pa=air, air_in_pa=air)


def test_an_empty_tight_system_stays_where_it_is() -> None:
    systems = quiet()
    held = f.stand(systems, evacuated(systems), 10)
    assert held.at_gauge_pa == pytest.approx(np.full((11, N), 200.0 * MICRON_PA))


def test_a_leak_alone_rises_in_a_straight_line_by_what_leaked_in() -> None:
    systems = quiet(leak_pa_m3_per_s=1e-5)
    held = f.stand(systems, evacuated(systems), 10)
    rise = (held.at_gauge_pa[10] - held.at_gauge_pa[5]) / 300.0 * systems.volume_m3
    assert rise == pytest.approx(np.full(N, 1e-5), rel=0.01)  # Pa m3/s, by the rate of rise


def test_gas_in_a_closed_pipe_follows_the_temperature() -> None:
    systems = quiet(drift_k_per_s=2.8 / 600.0)
    held = f.stand(systems, evacuated(systems), 12)
    assert held.at_gauge_pa[12] / held.at_gauge_pa[0] == pytest.approx(
        1.0 + 2.8 / systems.ambient_k)  # Gay-Lussac
    assert held.at_gauge_pa[12] == pytest.approx(held.at_gauge_pa[11])


def test_walls_give_off_gas_as_one_over_t() -> None:
    systems = quiet(gassing_pa_m3=1e-3)
    state = replace(evacuated(systems), seconds=1740.0)
    held = f.stand(systems, state, 20)
    grown = (held.at_gauge_pa[20] - held.at_gauge_pa[10]) * systems.volume_m3
    assert grown == pytest.approx(np.full(N, 1e-3 * np.log(3060.0 / 2460.0)), rel=0.02)


def test_much_water_fills_the_system_to_its_vapour_pressure_at_ambient() -> None:
    systems = quiet(water_kg=0.01, water_m3_per_s=1e-3, water_w_per_k=3.0)
    start = replace(evacuated(systems, 1.0))
    held = f.stand(systems, start, 240)
    # IAPWS R14-08 and SR1-86 give 17,546 microns at 20 C; here each at its own temperature
    assert held.at_gauge_pa[-1] == pytest.approx(f._vapour_pressure(systems.ambient_k), rel=0.02)


@pytest.mark.parametrize(("celsius", "microns"), [
    (-40.0, 96.3), (-20.0, 774.4), (0.0, 4584.0), (20.0, 17_546.0), (35.0, 42_221.0),
])  # IAPWS R14-08 (ice), SR1-86 (water)
def test_vapour_pressure_of_ice_and_water(celsius: float, microns: float) -> None:
    found = f._vapour_pressure(np.array([celsius + 273.15]))[0]
    assert found / MICRON_PA == pytest.approx(microns, rel=1e-3)


def test_water_is_neither_made_nor_lost() -> None:
    systems = quiet(water_kg=2e-5, water_m3_per_s=1e-5)
    isolated = evacuated(systems, 50.0)
    held = f.stand(systems, isolated, 30)
    most = 2e-5 * 461.5 * 293.15 / systems.volume_m3
    assert np.all(held.water_pa[30] <= most * 1.001)
    assert np.all(np.diff(held.water_pa, axis=0) >= -1e-9)


def test_ideal_gas_pumps_down_by_v_over_s() -> None:
    systems = quiet(hose_bore_m=0.1, hose_length_m=0.1, pump_m3_per_s=2.36e-3, blank_off_pa=0.0,
                    pipe_bore_m=0.1, pipe_length_m=0.1)
    pulled = f.pull(systems, np.full(N, 500 * MICRON_PA), np.zeros(N), 3)
    # t = V/S ln(p0/p): 7.3265 V/S from one atmosphere to 500 microns
    ideal_s = 7.3265 * systems.volume_m3 / 2.36e-3
    assert pulled.arrived_s == pytest.approx(ideal_s, rel=0.03, abs=1.5)


def test_a_gauge_shows_steps_that_coarsen_and_stops_at_its_top() -> None:
    systems = replace(quiet(), gauge_gain=np.ones(N), gauge_zero_pa=np.zeros(N))
    true = np.array([[87.3], [1337.0], [7777.0], [60_000.0]]) * MICRON_PA * np.ones((1, N))
    shown = read_gauge(systems, true, 5, noise=0.0)[:, 0] / MICRON_PA
    assert shown == pytest.approx([87, 1350, 8000, 25_000])


def test_the_cause_is_what_lifts_a_system_over_the_limit() -> None:
    held = f.Stand(np.array([[200.0] * 4, [600.0, 600.0, 300.0, 450.0]]),
                   np.array([[0.0] * 4, [350.0, 20.0, 20.0, 100.0]]), np.zeros((2, 4)))
    assert list(f.causes(held, 1, 500.0)) == ["leaking", "wet", "tight", "leaking"]


# IAPWS: latent heat of water at the triple point 2,500.9 kJ/kg, at 20 C 2,453.5; of ice 2,834.4


@pytest.mark.parametrize(
    ("kelvin", "latent", "capacity"), [(293.15, 2.4535e6, 4182.0), (263.15, 2.8344e6, 2027.0)]
)
def test_water_behind_a_conductance_cools_by_its_latent_heat(
    kelvin: float, latent: float, capacity: float
) -> None:
    count = 20
    drawn = draw(count, 3)
    none = {name: np.zeros(count) for name in
            ("leak_pa_m3_per_s", "gassing_pa_m3", "drift_k_per_s", "water_w_per_k")}
    systems = replace(drawn, **none, water_kg=np.full(count, 0.01),
                      water_m3_per_s=np.full(count, 1e-4), ambient_k=np.full(count, kelvin))
    start = f.at_rest(systems)
    if kelvin < 273.16:  # all of it ice from the start
        heat = 0.01 * f.HEAT_J_PER_KG_K[1] + systems.metal_j_per_k
        start = replace(start, enthalpy_j=heat * (kelvin - 273.16))
    air = np.full(count, 20.0)
    state = start = replace(start, air_out_pa=air, air_in_pa=air)
    for _ in range(30):
        state = f.ahead(systems, state, 1.0, pumping=False)
    gone = start.water_kg - state.water_kg
    cooled = kelvin - f._temperature(systems, state)
    assert np.all(gone > 1e-7)
    expected = gone * latent / (0.01 * capacity + systems.metal_j_per_k)
    assert cooled == pytest.approx(expected, rel=0.06)
