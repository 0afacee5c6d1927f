"""The verdict of a standing-vacuum (decay) test: tight, wet, leaking, or not yet clear."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fieldvoice.trade import decay_words, water
from fieldvoice.trade.decay_outliers import find_outliers
from fieldvoice.trade.decay_shapes import Floats, Shape, fit_shapes, weights
from fieldvoice.trade.decay_types import (
    COMMON_PRACTICE,
    LIMITS,
    DecayLimits,
    DecayVerdict,
    VacuumReading,
    Verdict,
)
from fieldvoice.trade.errors import TradeError, require_between, require_positive
from fieldvoice.trade.units import KELVIN_AT_0_C, PA_PER_ATM, PA_PER_MICRON, from_microns

__all__ = [
    "COMMON_PRACTICE", "LIMITS", "DecayLimits", "DecayVerdict", "VacuumReading", "Verdict",
    "judge_decay",
]

WARMEST_C = 45.0  # assumed upper bound of the pipe temperature when no ambient is given
_CAUSES = (Verdict.TIGHT, Verdict.WET, Verdict.LEAKING)
_LOOK_AHEAD_MIN = (2.0, 3.0, 5.0, 8.0, 10.0, 15.0, 20.0, 30.0, 45.0, 60.0, 90.0, 120.0)


def judge_decay(
    readings: Sequence[VacuumReading],
    *,
    limits: DecayLimits = COMMON_PRACTICE,
    volume_m3: float | None = None,
    ambient_c: float | None = None,
    gauge_resolution_pa: float = from_microns(5),
    gauge_noise_fraction: float = 0.01,
) -> DecayVerdict:
    """Judge a standing vacuum from its readings (at least 3; times may be uneven but must grow).

    What the words mean, with H the hold of `limits` and p(H) the fitted pressure at its end:
    leaking: p(H) is above the limit and the steady part is at least half of the rise, or p(H) is
    within it but the steady part would break it in one more hold; wet: above the limit, and the
    part that levels off is the larger; tight: otherwise. A verdict is given when its probability
    over all fitted shapes reaches `limits.sure_at`; tight also needs readings to the end of H.

    `volume_m3` gives leak rates; `ambient_c` (pipe temperature, C) bounds the plateau that water
    can reach. One reading's standard error is gauge_noise_fraction * p + gauge_resolution_pa.
    Raises TradeError on times that do not grow, pressures not above zero or above an atmosphere,
    or a volume or temperature that cannot be.
    """
    _check(readings, limits, volume_m3, ambient_c, gauge_resolution_pa, gauge_noise_fraction)
    asked = _Asked(tuple(readings), limits, volume_m3, ambient_c)
    if len(readings) < 3:
        return decay_words.too_few(asked.readings, limits, volume_m3, ambient_c)
    times = np.array([r.minutes for r in readings], dtype=np.float64)
    pressures = np.array([r.pressure_pa for r in readings], dtype=np.float64)
    sigmas = gauge_noise_fraction * pressures + gauge_resolution_pa
    outliers = find_outliers(times, pressures, sigmas)
    keep = np.array([i not in outliers for i in range(len(times))])
    shapes = fit_shapes(times[keep], pressures[keep], sigmas[keep], _ceiling_pa(ambient_c))
    noise = (gauge_noise_fraction, gauge_resolution_pa)
    return _conclude(asked, shapes, float(times[keep][-1]), outliers, noise)


@dataclass(frozen=True)
class _Asked:
    readings: tuple[VacuumReading, ...]
    limits: DecayLimits
    volume_m3: float | None
    ambient_c: float | None


@dataclass(frozen=True)
class _Weighed:
    """All draws of all shapes, with the cause each stands for."""

    chance: Floats  # (draws,) sums to 1
    cause: Floats  # index into _CAUSES
    start: Floats
    rate: Floats
    swing: Floats
    tau: Floats  # minutes; 1 where there is no saturating part

    def pressure(self, minutes: float) -> Floats:
        return self.start + self.rate * minutes + self.swing * -np.expm1(-minutes / self.tau)

    def slope(self, minutes: float) -> Floats:
        return self.rate + self.swing / self.tau * np.exp(-minutes / self.tau)

    def mean(self, values: Floats, where: Floats | None = None) -> float:
        chance = self.chance if where is None else self.chance * where
        total = float(chance.sum())
        return float((chance * values).sum() / total) if total > 0 else float("nan")


def _weigh(shapes: list[Shape], limits: DecayLimits) -> _Weighed:
    chances = []
    for shape, weight in zip(shapes, weights(shapes), strict=True):
        allowed = shape.allowed.astype(np.float64)
        chances.append(weight * allowed / max(float(allowed.sum()), 1.0))
    chance = np.concatenate(chances)
    start = np.concatenate([s.start for s in shapes])
    rate = np.concatenate([s.rate for s in shapes])
    swing = np.concatenate([s.swing for s in shapes])
    tau = np.concatenate([np.full(len(s.start), s.tau_min or 1.0) for s in shapes])
    hold = limits.hold_minutes
    levelling = swing * -np.expm1(-hold / tau)
    final = start + rate * hold + levelling
    fails = final > limits.pass_below_pa
    leaks = np.where(fails, rate * hold >= levelling, final + rate * hold > limits.pass_below_pa)
    cause = np.where(leaks, 2.0, np.where(fails, 1.0, 0.0))
    return _Weighed(chance / chance.sum(), cause, start, rate, swing, tau)


def _conclude(
    asked: _Asked, shapes: list[Shape], last_min: float, outliers: tuple[int, ...],
    noise: tuple[float, float],
) -> DecayVerdict:
    draws = _weigh(shapes, asked.limits)
    chances = tuple(draws.mean((draws.cause == i).astype(np.float64)) for i in range(3))
    best = int(np.argmax(chances))
    sure = chances[best] >= asked.limits.sure_at
    held = last_min >= asked.limits.hold_minutes - 1e-9
    verdict = _CAUSES[best] if sure and (held or best != 0) else Verdict.NOT_YET_CLEAR
    more = None
    if verdict is Verdict.NOT_YET_CLEAR:
        more = _minutes_more(draws, last_min, asked.limits.hold_minutes, noise, chances)
    total = {name: 0.0 for name in ("flat", "line", "saturating", "line and saturating")}
    for shape, weight in zip(shapes, weights(shapes), strict=True):
        total[shape.name] += float(weight)
    model = max(total, key=lambda name: total[name])
    found = decay_words.Findings(
        verdict, _CAUSES[best], chances, model,
        rise_rate=draws.mean(draws.slope(last_min)), final_pa=draws.mean(draws.pressure(last_min)),
        plateau=_plateau(draws, model), steady=_steady(draws, chances), minutes_more=more,
        last_min=last_min, outliers=outliers,
    )
    return decay_words.put(found, asked.readings, asked.limits, asked.volume_m3, asked.ambient_c)


def _plateau(draws: _Weighed, model: str) -> float | None:
    """Level a saturating rise heads for, Pa; None when no levelling part is in the likeliest shape."""
    if model != "saturating":
        return None
    where = ((draws.rate == 0) & (draws.swing > 0)).astype(np.float64)
    order = np.argsort(draws.start + draws.swing)
    mass = np.cumsum((draws.chance * where)[order])
    middle = int(np.searchsorted(mass, 0.5 * mass[-1]))
    return float((draws.start + draws.swing)[order][min(middle, len(order) - 1)])


def _steady(draws: _Weighed, chances: tuple[float, ...]) -> float:
    """Mean steady rise, Pa/min, over the draws that say leaking (all draws when none do)."""
    leaking = (draws.cause == 2.0).astype(np.float64)
    return draws.mean(draws.rate, leaking if chances[2] > 0.5 else None)


def _minutes_more(
    draws: _Weighed, last_min: float, hold: float, noise: tuple[float, float],
    chances: tuple[float, ...],
) -> float:
    """Further minutes until the two likeliest causes predict pressures three errors apart."""
    wait = max(hold - last_min, 0.0)
    first, second = sorted(range(3), key=lambda i: -chances[i])[:2]
    if chances[second] < 0.02:
        return wait
    masks = [(draws.cause == i).astype(np.float64) for i in (first, second)]
    for extra in _LOOK_AHEAD_MIN:
        if extra < wait:
            continue
        a, b = (draws.mean(draws.pressure(last_min + extra), mask) for mask in masks)
        if abs(a - b) > 3.0 * (noise[0] * 0.5 * (a + b) + noise[1]):
            return extra
    return _LOOK_AHEAD_MIN[-1]


def _ceiling_pa(ambient_c: float | None) -> float:
    """Highest pressure that a levelling rise may head for: water at the pipe, with 15 % to spare."""
    warmest = WARMEST_C if ambient_c is None else ambient_c
    return 1.15 * water.vapour_pressure_pa(warmest + KELVIN_AT_0_C) + from_microns(500)


def _check(
    readings: Sequence[VacuumReading], limits: DecayLimits, volume_m3: float | None,
    ambient_c: float | None, resolution: float, noise: float,
) -> None:
    for index, reading in enumerate(readings):
        where = f"pressure of reading {index + 1}"
        require_positive(where, reading.pressure_pa, "Pa")
        require_between(where, reading.pressure_pa, 0.0, 1.1 * PA_PER_ATM, "Pa")
        require_between(f"time of reading {index + 1}", reading.minutes, 0.0, 1e5, "minutes")
        if index and reading.minutes <= readings[index - 1].minutes:
            raise TradeError(
                f"time of reading {index + 1} is {reading.minutes:g} minutes, not after the one "
                f"before ({readings[index - 1].minutes:g}): times must grow; drop or correct one"
            )
    require_positive("limit", limits.pass_below_pa, "Pa")
    require_positive("hold", limits.hold_minutes, "minutes")
    require_between("sure_at", limits.sure_at, 0.5, 0.999)
    require_between("gauge resolution", resolution, PA_PER_MICRON * 0.01, PA_PER_ATM, "Pa")
    require_between("gauge noise fraction", noise, 0.0, 0.5)
    if volume_m3 is not None:
        require_positive("system volume", volume_m3, "m3")
    if ambient_c is not None:
        require_between("ambient temperature", ambient_c, -60.0, 70.0, "C")
