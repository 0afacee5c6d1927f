"""Random systems with their rigs and gauges, for field_simulator.py; what a gauge shows.

How often each cause comes, and how strong it is, are assumptions: rows of a study are to be read
one by one. Of those that reach a vacuum about two thirds are tight.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

MICRON_PA = 0.133322387
GAUGE_TOP_MICRONS = 25_000.0
# from this reading up, in microns, the display moves by the step beside it
GAUGE_STEPS = ((0, 1), (100, 2), (200, 5), (500, 10), (1_000, 50), (2_000, 100), (5_000, 500),
               (10_000, 1_000))


@dataclass(frozen=True)
class Systems:
    """Many systems with their rigs and gauges; every field one value a system, SI units."""

    outdoor_m3: Floats
    indoor_m3: Floats
    pipe_bore_m: Floats
    pipe_length_m: Floats
    ambient_k: Floats
    drift_k_per_s: Floats
    leak_pa_m3_per_s: Floats
    leak_indoors: Floats  # 1.0 where the leak is at the indoor end
    gassing_pa_m3: Floats  # flow = this / (time since the start of the pull + a minute)
    water_kg: Floats
    water_m3_per_s: Floats  # conductance between the water and the indoor end
    water_w_per_k: Floats
    metal_j_per_k: Floats  # of the wall that cools with the water
    pump_m3_per_s: Floats
    blank_off_pa: Floats  # what the rig reaches alone
    hose_bore_m: Floats
    hose_length_m: Floats
    core_in: Floats  # 1.0 where the valve core was left in
    gauge_gain: Floats
    gauge_zero_pa: Floats

    @property
    def volume_m3(self) -> Floats:
        """Of the whole system."""
        return self.outdoor_m3 + self.indoor_m3


def draw(count: int, seed: int) -> Systems:
    """Random systems: dry, wet, leaking, or both."""
    rng = np.random.default_rng(seed)

    def between(low: float, high: float) -> Floats:
        return rng.uniform(low, high, count)

    def spread(low: float, high: float) -> Floats:
        return np.asarray(np.exp(between(np.log(low), np.log(high))))

    cause = rng.choice(4, size=count, p=(0.15, 0.56, 0.23, 0.06))
    wet, leaking = (cause == 1) | (cause == 3), (cause == 2) | (cause == 3)
    volume, share = between(2e-3, 12e-3), between(0.4, 0.8)
    micron_a_minute = volume * MICRON_PA / 60.0  # Pa m3/s
    leak = np.where(leaking, spread(5.0, 1500.0), spread(1e-3, 0.3))
    return Systems(
        outdoor_m3=volume * (1.0 - share), indoor_m3=volume * share,
        pipe_bore_m=rng.choice([0.0138, 0.0173, 0.0199], size=count),
        pipe_length_m=between(4.0, 25.0),
        ambient_k=between(280.0, 310.0), drift_k_per_s=between(-2.8, 2.8) / 600.0,
        leak_pa_m3_per_s=leak * micron_a_minute,
        leak_indoors=(between(0, 1) < 0.7).astype(np.float64),
        gassing_pa_m3=spread(0.3, 20.0) * micron_a_minute * 1800.0,
        water_kg=np.where(wet, spread(5e-5, 5e-2), 0.0),
        water_m3_per_s=volume / (60.0 * spread(0.1, 80.0)),
        water_w_per_k=spread(0.05, 3.0), metal_j_per_k=spread(10.0, 60.0),
        pump_m3_per_s=between(1.2e-3, 4.5e-3), blank_off_pa=spread(10.0, 150.0) * MICRON_PA,
        hose_bore_m=rng.choice([0.0048, 0.0064, 0.0095, 0.0127], size=count),
        hose_length_m=between(0.6, 1.8), core_in=(between(0, 1) < 0.15).astype(np.float64),
        gauge_gain=np.exp(0.04 * rng.standard_normal(count)),
        gauge_zero_pa=5.0 * MICRON_PA * rng.standard_normal(count),
    )


def read_gauge(systems: Systems, true_pa: Floats, seed: int, noise: float = 0.01) -> Floats:
    """What the gauges show of `true_pa` (rows of moments), Pa: gain, zero, noise, step, top."""
    rng = np.random.default_rng(seed)
    shown = true_pa * systems.gauge_gain * (1.0 + noise * rng.standard_normal(true_pa.shape))
    microns = np.maximum(shown + systems.gauge_zero_pa, MICRON_PA) / MICRON_PA
    at, steps = (np.array(column, float) for column in zip(*GAUGE_STEPS, strict=True))
    step = steps[np.searchsorted(at, microns, side="right") - 1]
    stepped = np.maximum(np.round(microns / step) * step, 1.0)
    return np.asarray(np.minimum(stepped, GAUGE_TOP_MICRONS) * MICRON_PA)


def choose(systems: Systems, where: NDArray[np.bool_]) -> Systems:
    """The systems for which `where` holds."""
    return Systems(**{f.name: getattr(systems, f.name)[where] for f in fields(systems)})
