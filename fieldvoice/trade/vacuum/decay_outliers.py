"""Readings that no smooth rise explains: a gauge valve touched, a figure misheard."""

from __future__ import annotations

import numpy as np

from fieldvoice.trade.vacuum.decay_family import Floats, tau_grid
from fieldvoice.trade.vacuum.decay_shapes import EQUALISING_MIN

DROP = 30.0  # fall in chi-squared (about 5.5 standard errors) that setting a reading aside must buy
MOST = 8  # a longer list speaks of a bad gauge, not of single readings
TERMS = 4  # at most, of a smooth shape
RIDGE = 1e-12  # keeps a column that has died away from dividing by nothing
FEWEST = 6  # fewer readings than this cannot tell a curved rise from a wrong reading
PINNED = 0.98  # leverage above which a reading is its own only witness (as the first may be)

LONG = 120  # a record longer than this is judged on every COARSER-th shape: one reading in so many
COARSER = 4  # cannot hide between two shapes


def find_outliers(times: Floats, pressures: Floats, sigmas: Floats) -> tuple[int, ...]:
    """Places of outlying readings, at most a quarter of them or MOST, in rising order.

    One at a time, the reading whose removal helps the best smooth shape most is set aside while
    that help exceeds DROP, and either halves the misfit or (in a long record, of which no reading
    is half) exceeds DROP times the misfit that every other reading has left.
    """
    found: list[int] = []
    most = min(len(times) // 4, MOST)
    while len(times) - len(found) >= FEWEST and len(found) < most:
        keep = [i for i in range(len(times)) if i not in found]
        place, before, after = _worst(times[keep], pressures[keep], sigmas[keep])
        usual = max(after / (len(keep) - TERMS), 1.0)
        if before - after < DROP or (after > 0.5 * before and before - after < DROP * usual):
            break
        found.append(keep[place])
    return tuple(sorted(found))


def _worst(times: Floats, pressures: Floats, sigmas: Floats) -> tuple[int, float, float]:
    """Place of the reading whose removal leaves the least misfit, and misfit before and after."""
    q = _orthonormal(_designs(times) / sigmas)
    seen = pressures / sigmas
    residual = seen - ((q @ seen)[:, None, :] @ q)[:, 0, :]
    leverage = (q * q).sum(axis=1)
    squares = residual * residual
    chi2 = squares.sum(axis=1)
    gains = np.where(leverage > PINNED, 0.0, squares / np.maximum(1.0 - leverage, 1e-9))
    left = chi2[:, None] - gains
    shape, place = np.unravel_index(int(left.argmin()), left.shape)
    return int(place), float(chi2.min()), float(left[shape, place])


def _orthonormal(design: Floats) -> Floats:
    """Rows (shapes, terms, readings) that span the same, by Cholesky."""
    design = design / np.maximum(np.sqrt((design * design).sum(axis=2, keepdims=True)), 1e-300)
    gram = design @ np.swapaxes(design, 1, 2) + RIDGE * np.eye(design.shape[1])
    return np.asarray(np.linalg.inv(np.linalg.cholesky(gram)) @ design)


def _designs(times: Floats) -> Floats:
    """Smooth shapes (shapes, terms, readings); of FEWEST readings without evening out."""
    step = 1 if len(times) <= LONG else COARSER
    tau = tau_grid(float(times[-1]))[::step, None]
    design = np.empty((len(tau), TERMS, len(times)))
    design[:, 0], design[:, 1] = 1.0, times
    design[:, 2] = -np.expm1(-times / tau)
    design[:, 3] = np.exp(-times / EQUALISING_MIN)
    return design if len(times) > FEWEST else design[:, :-1]
