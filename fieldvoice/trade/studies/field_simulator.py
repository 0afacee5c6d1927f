"""Simulated evacuations and standing vacuums that share nothing with the verdict or the forecast.

Nothing here is imported from what it is to measure, and no shape of rise is assumed: pressures
follow from the flows. A system is two volumes joined by a pipe: the outdoor end, where pump and
gauge are, and the indoor end, where the joints and the cold coil are.

- air leaks in at a constant rate (choked flow);
- walls give off gas as 1/t from the start of the pull, mostly water;
- liquid or frozen water sits behind a limited conductance, cools as it evaporates, freezes, is
  warmed by the wall, and is used up;
- the air around drifts by up to 5 degF in ten minutes;
- a pump with an ultimate pressure pulls through one hose, with the valve core left in by some;
- gauges are off by a gain and a zero of their own, and their steps coarsen upward.

Conductance of air at 20 C: 12.1 d^3/L and 135 d^4 p/L (L/s, cm, mbar), a textbook's; vapour
pressure of ice and water: Murphy and Koop 2005, equations 7 and 10; both from memory. How often
each cause comes is an assumption; the study's rows are to be read one by one.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from fieldvoice.trade.studies.field_systems import Floats, Systems

ATMOSPHERE_PA = 101_325.0
TRIPLE_K = 273.16
FUSION_J_PER_KG = 334e3
VAPOUR_J_PER_KG = (2.50e6, 2.83e6)  # from water, from ice
HEAT_J_PER_KG_K = (4186.0, 2100.0)
VAPOUR_PA_M3_PER_KG = 461.5 * 293.15
ROUGH_S = 90
DRIFT_S = 600  # the air warms or cools for this long, and then stays


@dataclass(frozen=True)
class State:
    """Air and vapour at each end, Pa; water left; its enthalpy above ice at the triple point, J."""

    seconds: float
    air_out_pa: Floats
    air_in_pa: Floats
    vapour_out_pa: Floats
    vapour_in_pa: Floats
    water_kg: Floats
    enthalpy_j: Floats

    @property
    def at_gauge_pa(self) -> Floats:
        """True pressure at the outdoor end."""
        return self.air_out_pa + self.vapour_out_pa


def at_rest(systems: Systems) -> State:
    """Every system at one atmosphere of dry nitrogen, the water as warm as the air."""
    air, none = np.full_like(systems.ambient_k, ATMOSPHERE_PA), np.zeros_like(systems.ambient_k)
    heat = systems.water_kg * HEAT_J_PER_KG_K[0] + systems.metal_j_per_k
    enthalpy = systems.water_kg * FUSION_J_PER_KG + heat * (systems.ambient_k - TRIPLE_K)
    return State(0.0, air, air, none, none, systems.water_kg, enthalpy)


def ahead(systems: Systems, state: State, seconds: float, *, pumping: bool) -> State:
    """`seconds` later (one or two at a time); gas implicitly, water and heat explicitly."""
    warmth = systems.ambient_k + systems.drift_k_per_s * (0.0 if pumping else 1.0) * seconds
    grown = warmth / systems.ambient_k  # gas warms with the wall
    systems = replace(systems, ambient_k=warmth)
    total = 0.5 * (state.at_gauge_pa + state.air_in_pa + state.vapour_in_pa)
    through = _tube(systems.pipe_bore_m, systems.pipe_length_m, total)
    speed = _pumped(systems, state.at_gauge_pa) if pumping else np.zeros_like(through)
    gassing = systems.gassing_pa_m3 / (state.seconds + 60.0)
    leak_in = systems.leak_pa_m3_per_s * systems.leak_indoors
    water_k = _temperature(systems, state)
    here = systems.water_m3_per_s * (state.water_kg > 0.0)
    soaked = _vapour_pressure(water_k)
    air = _two_ends(
        systems, seconds, through, speed, np.zeros_like(here), state.air_out_pa * grown,
        state.air_in_pa * grown,
        speed * systems.blank_off_pa + systems.leak_pa_m3_per_s - leak_in, leak_in,
    )
    vapour = _two_ends(
        systems, seconds, through, speed, here, state.vapour_out_pa * grown,
        state.vapour_in_pa * grown, 0.4 * gassing, 0.6 * gassing + here * soaked,
    )
    gone = here * (soaked - vapour[1]) * seconds / VAPOUR_PA_M3_PER_KG
    gone = np.minimum(gone, state.water_kg)
    latent = np.where(water_k < TRIPLE_K, VAPOUR_J_PER_KG[1], VAPOUR_J_PER_KG[0])
    warmed = systems.water_w_per_k * (warmth - water_k) * seconds
    # what leaves also takes along the enthalpy that it had
    carried = np.where(water_k < TRIPLE_K, 0.0, FUSION_J_PER_KG)
    enthalpy = state.enthalpy_j + warmed - gone * (latent + carried)
    return State(state.seconds + seconds, *air, *vapour, state.water_kg - gone, enthalpy)


@dataclass(frozen=True)
class Pull:
    """Pressure at the gauge, Pa, one row every `every_s` from the start of the pull."""

    every_s: float
    at_gauge_pa: Floats
    arrived_s: Floats  # when the target was first reached; nan where it was not
    isolated: State  # each system when its technician shut the valves, or at the end


def pull(systems: Systems, target_pa: Floats, at_least_s: Floats, minutes: float) -> Pull:
    """Pump every system; it is isolated at its target, but not before `at_least_s`."""
    state, rows, kept = at_rest(systems), [], at_rest(systems)
    arrived = np.full_like(target_pa, np.nan)
    pumped = np.ones_like(target_pa, dtype=bool)
    for second in range(int(minutes * 60.0) + 1):
        if second % 5 == 0:
            rows.append(state.at_gauge_pa)
        low = state.at_gauge_pa <= target_pa
        arrived = np.where(np.isnan(arrived) & low, float(second), arrived)
        kept = _where(pumped, state, kept)
        pumped &= ~(low & (second >= at_least_s))
        parts = 8 if second < ROUGH_S else 1  # bulk gas goes within seconds
        for _ in range(parts):
            state = ahead(systems, state, 1.0 / parts, pumping=True)
    return Pull(5.0, np.stack(rows), arrived, kept)


@dataclass(frozen=True)
class Stand:
    """A standing vacuum: true pressure at the gauge each whole minute, and rise by cause, Pa."""

    at_gauge_pa: Floats  # (minutes + 1, systems)
    leak_pa: Floats  # of air, by what leaked in
    water_pa: Floats  # of vapour from water and walls, both ends together

    def rest_pa(self) -> Floats:
        """What the two ends' evening out and the drift of temperature did."""
        rise = self.at_gauge_pa - self.at_gauge_pa[0]
        return np.asarray(rise - self.leak_pa - self.water_pa)


def stand(systems: Systems, isolated: State, minutes: int, waited_s: int = 60) -> Stand:
    """Isolate, wait as the procedure asks, then hold."""
    state, steady = isolated, replace(systems, drift_k_per_s=np.zeros_like(systems.ambient_k))
    for _ in range(waited_s):
        state = ahead(steady, state, 1.0, pumping=False)
    rows, vapour, first = [state.at_gauge_pa], [np.zeros_like(systems.ambient_k)], state
    for second in range(1, minutes * 60 + 1):
        state = ahead(systems, state, 1.0, pumping=False)
        systems = replace(systems if second < DRIFT_S else steady,
                          ambient_k=systems.ambient_k + systems.drift_k_per_s)
        if second % 60 == 0:
            rows.append(state.at_gauge_pa)
            vapour.append(_vapour_mean(systems, state) - _vapour_mean(systems, first))
    leak = np.outer(np.arange(minutes + 1) * 60.0, systems.leak_pa_m3_per_s / systems.volume_m3)
    return Stand(np.stack(rows), leak, np.stack(vapour))


def causes(held: Stand, minutes: int, limit_pa: float) -> NDArray[np.str_]:
    """What each system truly is by a hold of `minutes`: "tight", "wet" or "leaking".

    Leaking: over the limit at the end, mostly by the leak; or under it, but over it by the leak
    alone within as long again. Wet: over the limit, mostly by vapour or evening out.
    """
    end, leak = held.at_gauge_pa[minutes], held.leak_pa[minutes]
    rise, over = end - held.at_gauge_pa[0], end > limit_pa
    leaking = np.where(over, leak >= 0.5 * rise, end + leak > limit_pa)
    return np.where(leaking, "leaking", np.where(over, "wet", "tight"))


def choose_state(state: State, where: NDArray[np.bool_]) -> State:
    """The states for which `where` holds."""
    chosen = {f.name: getattr(state, f.name)[where] for f in fields(state)[1:]}
    return replace(state, **chosen)


def _where(condition: NDArray[np.bool_], new: State, old: State) -> State:
    merged = {f.name: np.where(condition, getattr(new, f.name), getattr(old, f.name))
              for f in fields(State)[1:]}
    return replace(new, **merged)


def _vapour_mean(systems: Systems, state: State) -> Floats:
    both = systems.outdoor_m3 * state.vapour_out_pa + systems.indoor_m3 * state.vapour_in_pa
    return both / systems.volume_m3


def _two_ends(
    systems: Systems, seconds: float, through: Floats, pumped: Floats, soaking: Floats,
    out_pa: Floats, in_pa: Floats, out_flow: Floats, in_flow: Floats,
) -> tuple[Floats, Floats]:
    """One implicit step of one gas in both volumes; flows in Pa m3/s."""
    a = systems.outdoor_m3 + seconds * (pumped + through)
    b = systems.indoor_m3 + seconds * (soaking + through)
    c = seconds * through
    first = systems.outdoor_m3 * out_pa + seconds * out_flow
    second = systems.indoor_m3 * in_pa + seconds * in_flow
    whole = a * b - c * c
    return (first * b + c * second) / whole, (a * second + c * first) / whole


def _tube(bore_m: Floats, length_m: Floats, mean_pa: Floats) -> Floats:
    """Conductance of a long tube for air at 20 C, m3/s: molecular and laminar part added."""
    bore, length, mbar = 100.0 * bore_m, 100.0 * length_m, 0.01 * mean_pa
    return np.asarray((12.1 * bore**3 + 135.0 * bore**4 * mbar) / length * 1e-3)


def _pumped(systems: Systems, at_pa: Floats) -> Floats:
    """Speed at the system through hose and core, m3/s; half the pressure stands for the mean."""
    hose = _tube(systems.hose_bore_m, systems.hose_length_m, 0.5 * at_pa)
    core = _tube(np.full_like(at_pa, 0.0025), np.full_like(at_pa, 0.03), 0.5 * at_pa)
    return np.asarray(1.0 / (1.0 / systems.pump_m3_per_s + 1.0 / hose + systems.core_in / core))


def _temperature(systems: Systems, state: State) -> Floats:
    """Of the water and its metal, K, from their enthalpy."""
    melting = state.water_kg * FUSION_J_PER_KG
    liquid = state.water_kg * HEAT_J_PER_KG_K[0] + systems.metal_j_per_k
    frozen = state.water_kg * HEAT_J_PER_KG_K[1] + systems.metal_j_per_k
    above, below = np.maximum(state.enthalpy_j - melting, 0.0), np.minimum(state.enthalpy_j, 0.0)
    return np.asarray(np.clip(TRIPLE_K + above / liquid + below / frozen, 190.0, 330.0))


def _vapour_pressure(kelvin: Floats) -> Floats:
    """Over ice below the triple point, over water above, Pa."""
    ice = 9.550426 - 5723.265 / kelvin + 3.53068 * np.log(kelvin) - 0.00728332 * kelvin
    bend = 53.878 - 1331.22 / kelvin - 9.44523 * np.log(kelvin) + 0.014025 * kelvin
    water = (54.842763 - 6763.22 / kelvin - 4.210 * np.log(kelvin) + 0.000367 * kelvin
             + np.tanh(0.0415 * (kelvin - 218.8)) * bend)
    return np.asarray(np.exp(np.where(kelvin < TRIPLE_K, ice, water)))
