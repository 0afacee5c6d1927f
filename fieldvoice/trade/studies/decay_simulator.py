"""Simulated evacuations and isolations with a known cause, to measure the verdict and the forecast.

Each system is a volume pumped through a hose, with an air leak (choked, so a constant flow),
outgassing that dies away, and a reservoir of water that evaporates at its own temperature,
cooled by evaporation and warmed by the wall. Not modelled: the heat of freezing, gas adsorbed
again on walls, several wet spots at different temperatures.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from fieldvoice.quantity.constants import PA_PER_ATM, PA_PER_MICRON
from fieldvoice.trade.vacuum import water
from fieldvoice.trade.vacuum.conductance import Passage, laminar_m3_per_s, molecular_m3_per_s

Floats = NDArray[np.float64]
WATER_PA_M3_PER_KG = 8.314_462_618 * 293.15 / 0.018_015_28
LATENT_J_PER_KG = 2.8e6  # of ice, near enough to water's 2.45e6 for this purpose
COPPER_J_PER_K = 2.0  # about 5 g of tube wall that cools with the water
_GRID_K = np.linspace(200.0, 330.0, 521)
_GRID_PA = np.array([water.vapour_pressure_pa(float(t)) for t in _GRID_K])


@dataclass(frozen=True)
class Systems:
    """Many systems at once; every field one value a system, SI units."""

    volume_m3: Floats
    pump_m3_per_s: Floats
    pump_ultimate_pa: Floats
    hose_bore_m: Floats
    hose_length_m: Floats
    leak_pa_m3_per_s: Floats
    water_kg: Floats
    evaporating_m3_per_s: Floats  # flow = this x (water's vapour pressure - pressure)
    wall_w_per_k: Floats
    outgassing_pa_m3: Floats  # stock at the start of the pull
    outgassing_s: Floats  # time constant
    ambient_k: Floats
    target_pa: Floats  # where the technician isolates
    at_least_s: Floats  # but not before pumping this long
    equalising_share: Floats  # of the pressure at isolation; dies away in equalising_s
    equalising_s: Floats


@dataclass(frozen=True)
class State:
    """Pressure, water left and its temperature, outgassing stock left, of many systems."""

    pressure_pa: Floats
    water_kg: Floats
    water_k: Floats
    stock_pa_m3: Floats


def draw_systems(count: int, seed: int) -> Systems:
    """Random systems: 35 % dry, 28 % wet, 27 % leaking, 10 % wet and leaking."""
    rng = np.random.default_rng(seed)

    def log_uniform(low: float, high: float) -> Floats:
        return np.asarray(np.exp(rng.uniform(np.log(low), np.log(high), count)))

    kind = rng.choice(4, size=count, p=(0.35, 0.28, 0.27, 0.10))
    leaky, wet = (kind == 2) | (kind == 3), (kind == 1) | (kind == 3)
    volume = rng.uniform(2.0, 12.0, count) * 1e-3
    micron_flow = PA_PER_MICRON / 60.0 * volume  # Pa m3/s that lifts the system 1 micron a minute
    stock_microns = log_uniform(5.0, 150.0)
    return Systems(
        volume_m3=volume,
        pump_m3_per_s=rng.uniform(1.5, 4.0, count) * 1e-3,
        pump_ultimate_pa=log_uniform(15.0, 100.0) * PA_PER_MICRON,
        hose_bore_m=rng.choice([0.0048, 0.0064, 0.0095, 0.0127], size=count),
        hose_length_m=rng.uniform(0.6, 1.8, count),
        leak_pa_m3_per_s=np.where(leaky, log_uniform(3.0, 2000.0), log_uniform(1e-3, 1.0))
        * micron_flow,
        water_kg=np.where(wet, log_uniform(1e-6, 2e-2), 0.0),
        evaporating_m3_per_s=volume / (60.0 * log_uniform(1.5, 60.0)),
        wall_w_per_k=log_uniform(0.01, 1.0),
        outgassing_pa_m3=stock_microns * PA_PER_MICRON * volume * 5.0,
        outgassing_s=60.0 * log_uniform(3.0, 30.0),
        ambient_k=rng.uniform(278.15, 308.15, count),
        target_pa=rng.uniform(150.0, 350.0, count) * PA_PER_MICRON,
        at_least_s=60.0 * rng.uniform(5.0, 30.0, count),
        equalising_share=rng.uniform(-0.25, 0.25, count),
        equalising_s=60.0 * rng.uniform(0.15, 0.6, count),
    )


def start_of_pull(systems: Systems) -> State:
    """All systems at one atmosphere and ambient temperature."""
    return State(
        np.full_like(systems.volume_m3, PA_PER_ATM), systems.water_kg.copy(),
        systems.ambient_k.copy(), systems.outgassing_pa_m3.copy(),
    )


def step(systems: Systems, state: State, seconds: float, pumping: bool) -> State:
    """Advance every system by `seconds`; pressure implicitly, the rest explicitly."""
    speed = _pump_speed(systems, state.pressure_pa) if pumping else 0.0
    vapour_pa = np.interp(state.water_k, _GRID_K, _GRID_PA)
    left = state.water_kg / np.maximum(systems.water_kg, 1e-12)
    here = systems.evaporating_m3_per_s * np.cbrt(left) ** 2  # a drop's surface shrinks with it
    from_stock = state.stock_pa_m3 * -np.expm1(-seconds / systems.outgassing_s)
    inflow = systems.leak_pa_m3_per_s * seconds + from_stock + here * vapour_pa * seconds
    pull = (speed + here) * seconds / systems.volume_m3
    ultimate = speed * systems.pump_ultimate_pa * seconds if pumping else 0.0
    pressure = (state.pressure_pa + (inflow + ultimate) / systems.volume_m3) / (1.0 + pull)
    evaporated = here * (vapour_pa - pressure) * seconds / WATER_PA_M3_PER_KG
    evaporated = np.minimum(evaporated, state.water_kg)
    heat = systems.wall_w_per_k * (systems.ambient_k - state.water_k) * seconds
    capacity = COPPER_J_PER_K + 2_100.0 * state.water_kg
    warmer = state.water_k + (heat - evaporated * LATENT_J_PER_KG) / capacity
    return State(
        pressure, state.water_kg - evaporated, np.clip(warmer, 205.0, 325.0),
        state.stock_pa_m3 - from_stock,
    )


def pull(systems: Systems, minutes: float, seconds: float = 1.0) -> tuple[Floats, State]:
    """Pump each system to its target, and its least time, or until `minutes` pass.

    Returns the minutes each took (nan where it never got there) and the state at that moment.
    """
    state = start_of_pull(systems)
    taken = np.full_like(systems.volume_m3, np.nan)
    kept = state
    for index in range(int(minutes * 60.0 / seconds)):
        state = step(systems, state, seconds, pumping=True)
        now_s = (index + 1) * seconds
        low = (state.pressure_pa <= systems.target_pa) & (now_s >= systems.at_least_s)
        arrived = np.isnan(taken) & low
        taken[arrived] = now_s / 60.0
        kept = _where(np.isnan(taken) | arrived, state, kept)
    return taken, kept


@dataclass(frozen=True)
class Stand:
    """What truly happened in a hold: pressure at the gauge each minute, and rise by cause, Pa."""

    true_pa: Floats  # (minutes + 1, systems)
    leak_rise_pa: Floats
    other_rise_pa: Floats  # water and outgassing


def stand(systems: Systems, isolated: State, minutes: float, seconds: float = 2.0) -> Stand:
    """Isolate every system and hold it for `minutes`."""
    state, start = isolated, isolated.pressure_pa
    rows = [start]
    for index in range(1, int(minutes * 60.0 / seconds) + 1):
        state = step(systems, state, seconds, pumping=False)
        if (index * seconds) % 60.0 == 0:
            fading = np.expm1(-index * seconds / systems.equalising_s)
            rows.append(state.pressure_pa + systems.equalising_share * start * fading)
    leak = systems.leak_pa_m3_per_s * minutes * 60.0 / systems.volume_m3
    return Stand(np.stack(rows), leak, state.pressure_pa - start - leak)


def gauge(
    true_pa: Floats, seed: int, fraction: float = 0.01, microns: float = 5.0
) -> Floats:
    """What a gauge shows: Gaussian error of fraction x reading + microns, never below 1 micron."""
    rng = np.random.default_rng(seed)
    error = (fraction * true_pa + microns * PA_PER_MICRON) * rng.standard_normal(true_pa.shape)
    return np.maximum(true_pa + error, PA_PER_MICRON)


def choose(systems: Systems, where: NDArray[np.bool_]) -> Systems:
    """The systems for which `where` holds."""
    return replace(systems, **{f.name: getattr(systems, f.name)[where] for f in fields(systems)})


def choose_state(state: State, where: NDArray[np.bool_]) -> State:
    """The states for which `where` holds."""
    return State(*(getattr(state, f.name)[where] for f in fields(state)))


def _where(condition: NDArray[np.bool_], new: State, old: State) -> State:
    return State(
        *(np.where(condition, getattr(new, f.name), getattr(old, f.name)) for f in fields(State))
    )


def _pump_speed(systems: Systems, pressure_pa: Floats) -> Floats:
    """Effective speed at the system through one hose, m3/s (closed form of the series rule)."""
    hose = Passage("hose", 1.0, 1.0)
    linear = molecular_m3_per_s(hose) * systems.hose_bore_m**3 / systems.hose_length_m
    half = 0.5 * laminar_m3_per_s(hose, 1.0) * systems.hose_bore_m**4 / systems.hose_length_m
    total = half * pressure_pa**2 + linear * pressure_pa
    with_pump = linear + systems.pump_m3_per_s
    inlet = 2.0 * total / (with_pump + np.sqrt(with_pump**2 + 4.0 * half * total))
    return np.asarray(systems.pump_m3_per_s * inlet / pressure_pa)
