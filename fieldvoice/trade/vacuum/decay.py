"""The verdict of a standing-vacuum (decay) test: tight, wet, leaking, or not yet clear."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fieldvoice.quantity.constants import KELVIN_AT_0_C, PA_PER_ATM, PA_PER_MICRON, from_microns
from fieldvoice.trade.errors import TradeError, require_between, require_positive
from fieldvoice.trade.vacuum import decay_words, water
from fieldvoice.trade.vacuum.decay_outliers import find_outliers
from fieldvoice.trade.vacuum.decay_shapes import NAMES, Fits, Floats, fit_shapes
from fieldvoice.trade.vacuum.decay_types import (
    COMMON_PRACTICE,
    LIMITS,
    DecayLimits,
    DecayVerdict,
    VacuumReading,
    Verdict,
)

__all__ = [
    "COMMON_PRACTICE", "LIMITS", "DecayLimits", "DecayVerdict", "VacuumReading", "Verdict",
    "judge_decay",
]

MISSED = 5.0  # standard errors by which a fit may miss the last reading
LEVELS_AT = 0.3  # probability of levelling off without a steady part, to speak of a plateau
SETTLED_MIN = 2.0  # after which equalising is over (common practice)
WARMEST_C = 45.0  # assumed upper bound of the pipe temperature when no ambient is given
_CAUSES = (Verdict.TIGHT, Verdict.WET, Verdict.LEAKING)
# Of 3 to 6, the least wait that settles most unclear cases (advice_study, seed 31, not published).
APART = 5.0
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

    A pressure that falls, or a hold begun above its own limit that hardly rises, is not yet clear.
    """
    _check(readings, limits, volume_m3, ambient_c, gauge_resolution_pa, gauge_noise_fraction)
    asked = _Asked(tuple(readings), limits, volume_m3, ambient_c)
    noise = (gauge_noise_fraction, gauge_resolution_pa)
    return replace(
        _judge(asked, noise), gauge_resolution_pa=gauge_resolution_pa,
        gauge_noise_fraction=gauge_noise_fraction,
    )


@dataclass(frozen=True)
class _Asked:
    readings: tuple[VacuumReading, ...]
    limits: DecayLimits
    volume_m3: float | None
    ambient_c: float | None


def _judge(asked: _Asked, noise: tuple[float, float]) -> DecayVerdict:
    readings, limits, volume_m3 = asked.readings, asked.limits, asked.volume_m3
    ambient_c = asked.ambient_c
    if len(readings) < 3:
        return decay_words.too_few(readings, limits, volume_m3, ambient_c)
    times = np.array([r.minutes for r in readings], dtype=np.float64)
    pressures = np.array([r.pressure_pa for r in readings], dtype=np.float64)
    sigmas = noise[0] * pressures + noise[1]
    outliers = find_outliers(times, pressures, sigmas)
    keep = np.array([i not in outliers for i in range(len(times))])
    if _falls(times[keep], pressures[keep], sigmas[keep]):
        return decay_words.falling(readings, limits, volume_m3, ambient_c, outliers)
    fits = _fit(times[keep], pressures[keep], sigmas[keep], ambient_c)
    if _begins_too_high(fits, pressures[keep], sigmas[keep], limits):
        return decay_words.not_low_enough(readings, limits, volume_m3, ambient_c, outliers)
    return _conclude(asked, fits, float(times[keep][-1]), outliers, noise)


def _fit(
    times: Floats, pressures: Floats, sigmas: Floats, ambient_c: float | None
) -> Fits:
    """All shapes, with levels no higher than water at the pipe unless that misses the end.

    A rise that does level off above water's pressure (a wrong ambient, refrigerant leaving oil) is
    then still read as levelling, and the reason says that water alone does not explain it.
    """
    fits = fit_shapes(times, pressures, sigmas, _ceiling_pa(ambient_c))
    missed = abs(fits.mean(fits.pressure(float(times[-1]))) - float(pressures[-1]))
    if missed < MISSED * float(sigmas[-1]):
        return fits
    return fit_shapes(times, pressures, sigmas, float("inf"))


def _falls(times: Floats, pressures: Floats, sigmas: Floats) -> bool:
    """Whether the pressure falls after equalising: then the system is not isolated."""
    settled = times >= SETTLED_MIN
    if settled.sum() < 3:
        return False
    t, p, weight = times[settled], pressures[settled], 1.0 / sigmas[settled] ** 2
    middle = float((weight * t).sum() / weight.sum())
    spread = float((weight * (t - middle) ** 2).sum())
    slope = float((weight * (t - middle) * p).sum()) / spread
    fall = -slope * float(t[-1] - t[0])
    return slope * spread**0.5 < -4.0 and fall > 0.1 * float(p[0])


def _begins_too_high(
    fits: Fits, pressures: Floats, sigmas: Floats, limits: DecayLimits
) -> bool:
    """Whether the hold began above its own limit and hardly rises, so that no cause is at work."""
    rise = fits.mean(fits.pressure(limits.hold_minutes) - fits.start)
    hardly = max(0.1 * float(pressures[0]), 3.0 * float(sigmas[0]))
    return float(pressures[0]) > limits.pass_below_pa and rise < hardly


def _causes(fits: Fits, limits: DecayLimits) -> Floats:
    """Which of _CAUSES each draw stands for, by the words of `judge_decay`."""
    hold = limits.hold_minutes
    steady, final = fits.rate * hold, fits.pressure(hold)
    fails = final > limits.pass_below_pa
    leaks = np.where(fails, steady >= fits.levelling(hold), final + steady > limits.pass_below_pa)
    return np.where(leaks, 2.0, np.where(fails, 1.0, 0.0))


def _conclude(
    asked: _Asked, fits: Fits, last_min: float, outliers: tuple[int, ...],
    noise: tuple[float, float],
) -> DecayVerdict:
    cause = _causes(fits, asked.limits)
    masks = [(cause == i).astype(np.float64) for i in range(3)]
    chances = tuple(fits.mean(mask) for mask in masks)
    best = int(np.argmax(chances))
    held = last_min >= asked.limits.hold_minutes - 1e-9
    sure = chances[best] >= asked.limits.sure_at and (held or best != 0)
    hold = asked.limits.hold_minutes
    found = decay_words.Findings(
        verdict=_CAUSES[best] if sure else Verdict.NOT_YET_CLEAR,
        likeliest=_CAUSES[best], chances=chances,
        model=NAMES[int(np.argmax(fits.shape_chances))],
        rise_rate=fits.mean(fits.slope(last_min)), final_pa=fits.mean(fits.pressure(last_min)),
        plateau=_plateau(fits, hold), steady=fits.mean(fits.rate, masks[best] if best else None),
        steady_share=_steady_share(fits, hold),
        minutes_more=None if sure else _minutes_more(fits, masks, chances, last_min, hold, noise),
        last_min=last_min, outliers=outliers,
    )
    return decay_words.put(found, asked.readings, asked.limits, asked.volume_m3, asked.ambient_c)


def _steady_share(fits: Fits, hold: float) -> float:
    """Steady part of the rise over the hold, as a share of the part that levels off."""
    return fits.mean(fits.rate) * hold / max(fits.mean(fits.levelling(hold)), 1e-9)


def _plateau(fits: Fits, hold: float) -> float | None:
    """Median level that a levelling rise heads for, Pa; None when it may well be flat or steady.

    A steady part has no plateau, so only draws without one count, if they are likely enough or the
    steady part is a small one.
    """
    levels = fits.shape_chances[NAMES.index("saturating")]
    if levels < LEVELS_AT and (levels < 0.01 or _steady_share(fits, hold) > decay_words.SMALL):
        return None
    level = fits.start + fits.swing
    order = np.argsort(level)
    mass = np.cumsum((fits.chance * ((fits.swing > 0) & (fits.rate == 0)))[order])
    if mass[-1] == 0:  # it fell so steeply that no rise fits at all
        return None
    return float(level[order][int(np.searchsorted(mass, 0.5 * mass[-1]))])


def _minutes_more(
    fits: Fits, masks: list[Floats], chances: tuple[float, ...], last_min: float, hold: float,
    noise: tuple[float, float],
) -> float:
    """Further minutes until the two likeliest causes predict pressures APART errors apart."""
    wait = max(hold - last_min, 0.0)
    first, second = sorted(range(3), key=lambda i: -chances[i])[:2]
    if chances[second] < 0.02:
        return wait
    for extra in _LOOK_AHEAD_MIN:
        if extra < wait:
            continue
        seen = fits.pressure(last_min + extra)
        a, b = fits.mean(seen, masks[first]), fits.mean(seen, masks[second])
        if abs(a - b) > APART * (noise[0] * 0.5 * (a + b) + noise[1]):
            return extra
    return _LOOK_AHEAD_MIN[-1]


def _ceiling_pa(ambient_c: float | None) -> float:
    """Highest level that a rise may head for: that of water at the pipe, with 15 % to spare."""
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
