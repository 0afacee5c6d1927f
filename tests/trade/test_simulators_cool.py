"""In both simulators evaporating water pays for its vapour with its own warmth."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fieldvoice.trade.studies import decay_simulator, field_simulator, field_systems

# IAPWS: latent heat of water at the triple point 2,500.9 kJ/kg, at 20 C 2,453.5; of ice 2,834.4


@pytest.mark.parametrize(
    ("kelvin", "latent", "capacity"), [(293.15, 2.4535e6, 4182.0), (263.15, 2.8344e6, 2027.0)]
)
def test_water_behind_a_conductance_cools_by_its_latent_heat(
    kelvin: float, latent: float, capacity: float
) -> None:
    count = 20
    drawn = field_systems.draw(count, 3)
    none = {name: np.zeros(count) for name in
            ("leak_pa_m3_per_s", "gassing_pa_m3", "drift_k_per_s", "water_w_per_k")}
    systems = replace(drawn, **none, water_kg=np.full(count, 0.01),
                      water_m3_per_s=np.full(count, 1e-4), ambient_k=np.full(count, kelvin))
    start = field_simulator.at_rest(systems)
    if kelvin < 273.16:  # all of it ice from the start
        heat = 0.01 * field_simulator.HEAT_J_PER_KG_K[1] + systems.metal_j_per_k
        start = replace(start, enthalpy_j=heat * (kelvin - 273.16))
    air = np.full(count, 20.0)
    state = start = replace(start, air_out_pa=air, air_in_pa=air)
    for _ in range(30):
        state = field_simulator.ahead(systems, state, 1.0, pumping=False)
    gone = start.water_kg - state.water_kg
    cooled = kelvin - field_simulator._temperature(systems, state)
    assert np.all(gone > 1e-7)
    expected = gone * latent / (0.01 * capacity + systems.metal_j_per_k)
    assert cooled == pytest.approx(expected, rel=0.06)


def test_a_frozen_drop_cools_by_the_heat_of_its_vapour() -> None:
    drawn = decay_simulator.draw_systems(20, 3)
    none = np.zeros(20)
    systems = replace(drawn, water_kg=np.full(20, 0.01), wall_w_per_k=none, leak_pa_m3_per_s=none,
                      outgassing_pa_m3=none, evaporating_m3_per_s=np.full(20, 1e-4),
                      ambient_k=np.full(20, 263.15))
    start = replace(decay_simulator.start_of_pull(systems), pressure_pa=np.full(20, 20.0))
    state = decay_simulator.step(systems, start, 1.0, pumping=False)
    gone = start.water_kg - state.water_kg
    assert np.all(gone > 1e-8)
    expected = gone * 2.8344e6 / (0.01 * 2027.0 + decay_simulator.COPPER_J_PER_K)
    assert 263.15 - state.water_k == pytest.approx(expected, rel=0.06)
