"""Logistic regression whose coefficients keep within bounds; plain numpy."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
STEPS = 4_000
CONSTANT = 1e-9  # a column that spreads less tells nothing
STILL = 1e-7  # a step that moves nothing by more has arrived


def fit(
    rows: Floats, right: Floats, counts: Floats, bounds: Sequence[tuple[float, float]],
    ridge: float = 1.0,
) -> tuple[float, Floats]:
    """(intercept, coefficients) of least surprise; the intercept is never above 0.

    `rows`: one line each; `right`: 1 or 0; `counts`: how much each row counts; `bounds`: the
    lowest and highest of each coefficient; `ridge` holds them small, in units of a column's own
    spread. Projected gradient with Nesterov's momentum (from memory).
    """
    spread = rows.std(axis=0)
    spread[spread < CONSTANT] = 1.0
    columns = np.column_stack([np.ones(len(rows)), rows / spread])
    low, high = np.array([(-np.inf, 0.0), *bounds]).T
    low[1:] *= spread
    high[1:] *= spread
    held = np.array([0.0, *[ridge] * rows.shape[1]])
    steepest = 0.25 * float(np.linalg.norm(columns * np.sqrt(counts)[:, None], 2)) ** 2 + ridge
    here = ahead = np.clip(np.zeros(columns.shape[1]), low, high)
    pace = 1.0
    for _ in range(STEPS):
        chance = 1.0 / (1.0 + np.exp(-np.clip(columns @ ahead, -30, 30)))
        slope = columns.T @ (counts * (chance - right)) + held * ahead
        there = np.clip(ahead - slope / steepest, low, high)
        faster = (1 + np.sqrt(1 + 4 * pace**2)) / 2
        ahead = there + (pace - 1) / faster * (there - here)
        arrived = float(np.abs(there - here).max()) < STILL
        here, pace = there, faster
        if arrived:
            break
    return float(here[0]), here[1:] / spread
