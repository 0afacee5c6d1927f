"""Readings that no smooth rise explains: a gauge valve touched, a figure misheard."""

from __future__ import annotations

import numpy as np

from fieldvoice.trade.decay_shapes import EQUALISING_MIN, Floats, tau_grid

DROP = 30.0  # fall in chi-squared (about 5.5 standard errors) that setting a reading aside must buy
MOST = 8  # a longer list speaks of a bad gauge, not of single readings
FEWEST = 5  # fewer readings than this cannot accuse one another
PINNED = 0.98  # leverage above which a reading is its own only witness (as the first may be)

LONG = 120  # a record longer than this is judged on every COARSER-th shape: one reading in so many
COARSER = 4  # cannot hide between two shapes


def find_outliers(times: Floats, pressures: Floats, sigmas: Floats) -> tuple[int, ...]:
    """Places of outlying readings, at most a quarter of them or MOST, in rising order.

    One at a time, the reading whose removal helps the best smooth shape most is set aside while
    that help exceeds DROP and leaves a fair fit (or a much better one) behind.
    """
    found: list[int] = []
    most = min(len(times) // 4, MOST)
    while len(times) - len(found) >= FEWEST and len(found) < most:
        keep = [i for i in range(len(times)) if i not in found]
        place, before, after = _worst(times[keep], pressures[keep], sigmas[keep])
        if before - after < DROP or after > 0.5 * before:
            break
        found.append(keep[place])
    return tuple(sorted(found))


def _worst(times: Floats, pressures: Floats, sigmas: Floats) -> tuple[int, float, float]:
    """Place of the reading whose removal leaves the least misfit, and misfit before and after."""
    design = _designs(times) / sigmas[None, :, None]
    seen = pressures / sigmas
    q, _ = np.linalg.qr(design)
    residual = seen - (q @ (np.swapaxes(q, 1, 2) @ seen)[..., None])[..., 0]
    leverage = (q**2).sum(axis=2)
    chi2 = (residual**2).sum(axis=1)
    gains = np.where(leverage > PINNED, 0.0, residual**2 / np.maximum(1.0 - leverage, 1e-9))
    left = chi2[:, None] - gains
    shape, place = np.unravel_index(int(left.argmin()), left.shape)
    return int(place), float(chi2.min()), float(left[shape, place])


def _designs(times: Floats) -> Floats:
    """Smooth shapes (taus, readings, terms); fewer terms for fewer readings."""
    step = 1 if len(times) <= LONG else COARSER
    tau = tau_grid(float(times[-1]))[::step, None]
    ones = np.ones((len(tau), 1))
    columns = [ones * np.ones_like(times), ones * times]
    if len(times) > 5:
        columns.append(-np.expm1(-times[None, :] / tau))
    if len(times) > 6:
        columns.append(ones * np.exp(-times / EQUALISING_MIN))
    return np.stack(columns, axis=2)
