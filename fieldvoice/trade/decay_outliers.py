"""Readings that no smooth rise explains: a gauge valve touched, a figure misheard."""

from __future__ import annotations

import numpy as np

from fieldvoice.trade.decay_shapes import EQUALISING_MIN, Floats, tau_grid

DROP = 30.0  # fall in chi-squared (about 5.5 standard errors) that setting one reading aside must buy
FEWEST = 5  # fewer readings than this cannot accuse one another


def find_outliers(times: Floats, pressures: Floats, sigmas: Floats) -> tuple[int, ...]:
    """Places of outlying readings, at most a quarter of them, in rising order.

    One at a time, the reading whose removal helps the best smooth shape most is set aside while
    that help exceeds DROP and a single removal explains the misfit.
    """
    found: list[int] = []
    while len(times) - len(found) >= FEWEST and len(found) < len(times) // 4:
        keep = [i for i in range(len(times)) if i not in found]
        place, gain = _worst(times[keep], pressures[keep], sigmas[keep])
        if gain < DROP:
            break
        found.append(keep[place])
    return tuple(sorted(found))


def _worst(times: Floats, pressures: Floats, sigmas: Floats) -> tuple[int, float]:
    """Place of the reading whose removal leaves the least misfit, and the gain over the best fit."""
    best_full, best_cut, place = np.inf, np.inf, 0
    for tau in tau_grid(float(times[-1])):
        design = _design(times, tau) / sigmas[:, None]
        q, _ = np.linalg.qr(design)
        seen = pressures / sigmas
        residual = seen - q @ (q.T @ seen)
        leverage = np.minimum((q**2).sum(axis=1), 1.0 - 1e-9)
        chi2 = float(residual @ residual)
        gains = np.where(leverage > 0.98, 0.0, residual**2 / (1.0 - leverage))
        best_full = min(best_full, chi2)
        if chi2 - float(gains.max()) < best_cut:
            best_cut, place = chi2 - float(gains.max()), int(gains.argmax())
    return place, float(best_full - best_cut)


def _design(times: Floats, tau: float) -> Floats:
    columns = [np.ones_like(times), times]
    if len(times) > 5:
        columns += [1.0 - np.exp(-times / tau), np.exp(-times / EQUALISING_MIN)]
    elif len(times) > 4:
        columns.append(1.0 - np.exp(-times / tau))
    return np.stack(columns, axis=1)
