"""What the fitted shapes say of a hold: its cause, its level, its rate, and how long to wait."""

from __future__ import annotations

import numpy as np

from fieldvoice.quantity.constants import KELVIN_AT_0_C, from_microns
from fieldvoice.trade.vacuum import water
from fieldvoice.trade.vacuum.decay_family import DRIFTS_MIN, LEVEL, Floats
from fieldvoice.trade.vacuum.decay_shapes import Fits
from fieldvoice.trade.vacuum.decay_types import DecayLimits, Verdict

CAUSES = (Verdict.TIGHT, Verdict.WET, Verdict.LEAKING)
STANDS = 3  # place after those of CAUSES: above the limit from the start, and hardly rising
HARDLY = 0.1  # of its own pressure, that a vacuum may rise in a hold and yet be said to stand
LEVELS_AT = 0.3  # probability of levelling off without a steady part, to speak of a plateau
SMALL = 0.1  # share of the levelling part under which a steady part is not worth a word
WARMEST_C = 45.0  # assumed upper bound of the pipe temperature when no ambient is given
# Of 3 to 6, the least wait that settles most unclear cases (decay_study, seeds not published).
APART = 5.0
BENDS_MIN = 20.0  # a slow saturation bends too little to be seen sooner
LOOK_AHEAD_MIN = (2.0, 3.0, 5.0, 8.0, 10.0, 15.0, 20.0, 30.0, 45.0, 60.0, 90.0, 120.0)


def cause_of_draws(fits: Fits, limits: DecayLimits) -> Floats:
    """Which of CAUSES, or STANDS, each draw stands for, by the words of `judge_decay`."""
    hold = limits.hold_minutes
    steady, slowing = fits.rate * hold, fits.slowing(hold)
    final, limit = fits.start + steady + slowing, limits.pass_below_pa * fits.gain
    fails = final > limit
    leaks = np.where(fails, steady >= slowing, final + steady > limit)
    stands = (fits.start > limit) & (steady + slowing < HARDLY * fits.start)
    kinds = [stands, leaks, fails]
    return np.select(kinds, [float(STANDS), 2.0, 1.0], 0.0)


def steady_share(fits: Fits, hold: float) -> float:
    """Steady part of the rise over the hold, as a share of the part that levels off."""
    return fits.mean(fits.rate) * hold / max(fits.mean(fits.slowing(hold)), 1e-9)


def plateau(fits: Fits, hold: float) -> float | None:
    """Median level that a levelling rise heads for, Pa; None when it may well be flat or steady.

    A steady part has no plateau, so only draws without one count, if they are likely enough or the
    steady part is a small one.
    """
    levels = fits.shape_chances[LEVEL]
    if levels < LEVELS_AT and (levels < 0.01 or steady_share(fits, hold) > SMALL):
        return None
    counts = (fits.swing > 0) & (fits.rate == 0) & ~fits.curves.falling[:, None]
    warmed = (1.0 + fits.curves.drift * DRIFTS_MIN)[:, None]
    return quantile(fits.start + fits.swing * warmed, fits.chance * counts, 0.5)


def missed_rate(fits: Fits) -> float:
    """Steady rise that the readings leave room for, Pa/min: 95 in 100 of those that fit are less.

    Only shapes with a steady part count: how likely a leak is at all is not asked.
    """
    return quantile(fits.rate, fits.chance * (fits.rate > 0), 0.95) or 0.0


def quantile(values: Floats, mass: Floats, share: float) -> float | None:
    """The value that `share` of the mass lies at or below; None where there is no mass."""
    values, mass = values.ravel(), np.broadcast_to(mass, values.shape).ravel()
    order = np.argsort(values)
    total = np.cumsum(mass[order])
    if total[-1] == 0:  # no such draw: it fell so steeply that no rise fits at all
        return None
    return float(values[order][int(np.searchsorted(total, share * total[-1]))])


def minutes_more(
    fits: Fits, cause: Floats, last_min: float, hold: float, noise: tuple[float, float]
) -> float:
    """Further minutes until the two likeliest causes predict pressures APART errors apart."""
    wait = max(hold - last_min, 0.0)
    masks = [(cause == i).astype(np.float64) for i in range(len(CAUSES))]
    chances = [fits.mean(mask) for mask in masks]
    first, second = sorted(range(len(CAUSES)), key=lambda i: -chances[i])[:2]
    if chances[second] < 0.02:
        return wait
    least = wait + (BENDS_MIN if 0 not in (first, second) else 0.0)
    for extra in LOOK_AHEAD_MIN:
        if extra < least:
            continue
        seen = fits.pressure(last_min + extra)
        a, b = fits.mean(seen, masks[first]), fits.mean(seen, masks[second])
        if abs(a - b) > APART * (noise[0] * 0.5 * (a + b) + noise[1]):
            return extra
    return LOOK_AHEAD_MIN[-1]


def ceiling_pa(ambient_c: float | None) -> float:
    """Highest level that a rise may head for: that of water at the pipe, with 15 % to spare."""
    warmest = WARMEST_C if ambient_c is None else ambient_c
    return 1.15 * water.vapour_pressure_pa(warmest + KELVIN_AT_0_C) + from_microns(500)


def water_pa(ambient_c: float | None) -> tuple[float, float]:
    """Where water enough heads for, mean and standard deviation: it cools as it evaporates."""
    if ambient_c is None:
        return from_microns(15_000), from_microns(8_000)
    pipe = water.vapour_pressure_pa(ambient_c + KELVIN_AT_0_C)
    return 0.75 * pipe, 0.25 * pipe
