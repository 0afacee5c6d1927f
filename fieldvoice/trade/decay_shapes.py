"""Fit the shapes a vacuum can take while it stands: flat, straight line, saturating, and both.

p(t) = start + rate t + swing (1 - exp(-t / tau)), plus an equalising term that dies within a minute
or two of isolation. Rate and swing are not negative. Every shape (and every tau of a fixed grid) is
fitted by linear least squares under Gaussian priors no narrower than the rise itself, and weighed by
its marginal likelihood: the selection criterion. Fixed draws from each fit carry the uncertainty on.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

EQUALISING_MIN = 0.5  # time constant, minutes; common practice: gauges settle within 1-2 minutes
EQUALISING_SHARE = 0.3  # prior standard deviation of the equalising step, as a share of the start
DRAWS = 256
_NORMALS = np.random.default_rng(20_240).standard_normal((DRAWS, 4))
_TAUS = 14


@dataclass(frozen=True)
class Shape:
    """One fitted shape: its name, tau (minutes or None), weight, and draws of its coefficients."""

    name: str
    tau_min: float | None
    log_weight: float
    start: Floats  # Pa, (draws,)
    rate: Floats  # Pa/min, (draws,)
    swing: Floats  # Pa, (draws,)
    allowed: NDArray[np.bool_]  # draws inside the physical limits
    chi2: float

    def rise(self, minutes: float) -> Floats:
        """Rise above the start at `minutes`, one value a draw, Pa."""
        return self.rate * minutes + self.saturating_rise(minutes)

    def saturating_rise(self, minutes: float) -> Floats:
        """The part of the rise that levels off, Pa."""
        if self.tau_min is None:
            return self.swing * 0.0
        return self.swing * (1.0 - math.exp(-minutes / self.tau_min))


def tau_grid(span_min: float) -> list[float]:
    """Time constants tried, minutes: from just above equalising to nearly straight."""
    return [float(t) for t in np.geomspace(1.2, max(60.0, 3.0 * span_min), _TAUS)]


def fit_shapes(times: Floats, pressures: Floats, sigmas: Floats, ceiling_pa: float) -> list[Shape]:
    """Fit every shape to readings (minutes, Pa, Pa); `ceiling_pa` is the highest water plateau."""
    taus = tau_grid(float(times[-1] - times[0]))
    shapes = [_fit(times, pressures, sigmas, ceiling_pa, "flat", None)]
    shapes.append(_fit(times, pressures, sigmas, ceiling_pa, "line", None))
    for name in ("saturating", "line and saturating"):
        shapes += [_fit(times, pressures, sigmas, ceiling_pa, name, tau) for tau in taus]
    return shapes


def weights(shapes: list[Shape]) -> Floats:
    """Probability of each shape: the four names equally likely beforehand, taus alike within one."""
    counts = {name: sum(s.name == name for s in shapes) for name in {s.name for s in shapes}}
    logs = np.array([s.log_weight - math.log(counts[s.name]) for s in shapes])
    raw = np.exp(logs - logs.max())
    return np.asarray(raw / raw.sum(), dtype=np.float64)


def _fit(
    times: Floats, pressures: Floats, sigmas: Floats, ceiling_pa: float, name: str,
    tau: float | None,
) -> Shape:
    y = pressures - pressures[0]
    columns, spreads = _columns(times, pressures, sigmas, name, tau)
    design = columns / sigmas[:, None]
    seen = y / sigmas
    precision = np.diag(1.0 / spreads**2)
    normal = design.T @ design + precision
    chol = np.linalg.cholesky(normal)
    mean = np.linalg.solve(normal, design.T @ seen)
    evidence = -0.5 * (seen @ seen - (design.T @ seen) @ mean)
    evidence += -np.log(np.diag(chol)).sum() - np.log(spreads).sum()
    draws = mean + np.linalg.solve(chol.T, _NORMALS[:, : len(mean)].T).T
    residual = seen - design @ mean
    return _shape(name, tau, draws, float(evidence), pressures[0], ceiling_pa,
                  float(residual @ residual))


def _columns(
    times: Floats, pressures: Floats, sigmas: Floats, name: str, tau: float | None
) -> tuple[Floats, Floats]:
    """Design columns and the prior spread of each coefficient (start, equalising, rate, swing)."""
    span = float(times[-1])
    size = max(float(pressures.max() - pressures.min()), 3.0 * float(sigmas.max()))
    columns = [np.ones_like(times), np.exp(-times / EQUALISING_MIN)]
    spreads = [float(pressures[0]) + size, EQUALISING_SHARE * float(pressures[0])]
    if name.startswith("line"):
        columns.append(times)
        spreads.append(size / span)
    if tau is not None:
        columns.append(1.0 - np.exp(-times / tau))
        spreads.append(size / (1.0 - math.exp(-span / tau)))
    return np.stack(columns, axis=1), np.array(spreads)


def _shape(
    name: str, tau: float | None, draws: Floats, evidence: float, first_pa: float,
    ceiling_pa: float, chi2: float,
) -> Shape:
    zeros = np.zeros(DRAWS)
    start = draws[:, 0] + first_pa
    rate = draws[:, 2] if name.startswith("line") else zeros
    swing = draws[:, -1] if tau is not None else zeros
    allowed = (rate >= 0) & (swing >= 0) & (start + swing <= ceiling_pa) & (start > 0)
    inside = max(float(allowed.mean()), 0.5 / DRAWS)
    signs = int(name.startswith("line")) + int(tau is not None)
    evidence += math.log(inside) + signs * math.log(2.0)
    return Shape(name, tau, evidence, start, rate, swing, allowed, chi2)
