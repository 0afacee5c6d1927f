"""The family of shapes that a standing vacuum is fitted with, and how likely each is beforehand.

All figures of how often and how strong are assumptions, but where a source is named: they were
settled so that probabilities came out right on simulated holds (decay_study).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Places = NDArray[np.int_]
Flags = NDArray[np.bool_]

NAMES = ("flat", "line", "saturating", "line and saturating", "outgassing", "line and outgassing")
# Odds before any reading is seen. Two causes of like size at once are rarer than one, but walls
# give off a little in every system.
ODDS = (0.3, 0.35, 0.5, 0.06, 0.1, 0.2)
FLAT, LINE, LEVEL, LINE_LEVEL, WALLS, LINE_WALLS = range(6)
WIDE_CHANCE = 0.2  # that the gauge sat close to the pump and read far too low at first
FULL_CHANCE = 0.6  # of a wet system: that there is water enough to fill it with vapour
# Water that fills the system sooner than this would hardly have let the pump below the limit.
PUMPED_AGAINST_MIN = 8.0
SLOW_MIN = 60.0  # time constants much longer than this are rare
SLOWEST_MIN = 300.0  # a longer one bends too little to be seen in any hold
TAUS = 32
PUMPED_MIN = (3.0, 7.0, 16.0, 38.0, 90.0)  # minutes of pumping before the hold, tried
# Water at a pipe that warms 5 F (2.8 K) in ten minutes gains a sixth in pressure (IAPWS): drifts
# of its level tried beside none, a minute, and how long they go on. Warming hides a slowing rise.
DRIFTS, DRIFTS_MIN = (-0.012, 0.009, 0.017), 10.0


@dataclass(frozen=True)
class Curves:
    """The k(t) of the part of a rise that slows; one value a curve."""

    tau: Floats  # minutes; of outgassing, the time that the pump has had
    drift: Floats  # of the level of water, a minute
    falling: Flags  # outgassing whose rate falls as 1/t; else water, that heads for a level

    def at(self, minutes: Floats | float) -> Floats:
        """k(t), of shape (curves, times)."""
        tau, drift = self.tau[:, None], self.drift[:, None]
        early, late = np.minimum(minutes, DRIFTS_MIN), np.maximum(minutes - DRIFTS_MIN, 0.0)
        left, after = np.exp(-early / tau), np.exp(-late / tau)
        then = 1.0 - left + drift * (early - tau * (1.0 - left))
        level = 1.0 + drift * early
        water = level - (level - then) * after
        return np.where(self.falling[:, None], np.log1p(minutes / tau), water)

    def of(self, places: Places) -> Curves:
        """The curves at these places."""
        return Curves(self.tau[places], self.drift[places], self.falling[places])


@dataclass(frozen=True)
class Family:
    """The shapes tried on a record; one value a shape."""

    curves: Curves
    name: Places  # place in NAMES
    curve: Places  # which of `curves`; 0 where it is left out
    wide: Flags  # evens out from far below
    full: Flags  # heads for water's pressure at the pipe
    log_prior: Floats


def tau_grid(span_min: float) -> Floats:
    """Time constants tried, minutes: from just above equalising to many times the hold.

    A saturation slower than the hold looks straight, and cannot be told from a leak.
    """
    return np.geomspace(1.0, max(SLOWEST_MIN, 5.0 * span_min), TAUS)


@lru_cache(maxsize=64)
def family(span_min: float) -> Family:
    """The shapes for a record of so many minutes."""
    grid = tau_grid(span_min)
    slow = grid[grid >= PUMPED_AGAINST_MIN][::3]  # only there does a drift look like a leak
    tau = np.concatenate([grid, np.tile(slow, len(DRIFTS)), PUMPED_MIN])
    drift = np.concatenate([np.zeros(TAUS), np.repeat(DRIFTS, len(slow)),
                            np.zeros(len(PUMPED_MIN))])
    waters, none = len(tau) - len(PUMPED_MIN), np.zeros(1, dtype=np.int_)
    curves = Curves(tau, drift, np.arange(len(tau)) >= waters)
    even, water, walls = np.arange(TAUS), np.arange(waters), np.arange(waters, len(tau))
    return _join(curves, (
        (FLAT, none, 1.0 - WIDE_CHANCE, False, False), (FLAT, none, WIDE_CHANCE, True, False),
        (LINE, none, 1.0 - WIDE_CHANCE, False, False), (LINE, none, WIDE_CHANCE, True, False),
        (LEVEL, even, 1.0 - FULL_CHANCE, False, False), (LEVEL, water, FULL_CHANCE, False, True),
        (LINE_LEVEL, even[::2], 1.0, False, False),
        (WALLS, walls, 1.0, False, False), (LINE_WALLS, walls, 1.0, False, False),
    ))


# place in NAMES, places of the curves, share of the odds, evens out widely, full of water
_Block = tuple[int, Places, float, bool, bool]


def _join(curves: Curves, blocks: Sequence[_Block]) -> Family:
    odds = [ODDS[place] * share * _often(curves.of(which), place, full)
            for place, which, share, _, full in blocks]
    counts = [len(which) for _, which, _, _, _ in blocks]
    name, wide, full = (np.repeat([block[i] for block in blocks], counts) for i in (0, 3, 4))
    return Family(curves, name, np.concatenate([block[1] for block in blocks]), wide, full,
                  np.log(np.concatenate(odds)))


def _often(curves: Curves, place: int, full: bool) -> Floats:
    """How often each of some curves comes, as shares of one."""
    if place in (LEVEL, LINE_LEVEL):
        often = 1.0 / (1.0 + (curves.tau / SLOW_MIN) ** 2)
        if full:
            often *= np.minimum(curves.tau / PUMPED_AGAINST_MIN, 1.0) ** 2
            often *= np.where(curves.drift != 0.0, 3.0, 1.0)  # their grid is three times as coarse
    else:
        often = np.ones_like(curves.tau)
    return np.asarray(often / often.sum())
