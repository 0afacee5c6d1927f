"""Fit the shapes a vacuum can take while it stands: flat, straight line, saturating, and both.

p(t) = start + rate t + swing (1 - exp(-t / tau)), plus an equalising term that dies within a minute
or two of isolation. Rate and swing are not negative, and a swing that water causes cannot pass
water's vapour pressure at the pipe. Every shape (each tau of a fixed grid) is fitted by linear
least squares under Gaussian priors as wide as the rise itself, and weighed by its marginal
likelihood: that is the selection criterion. Fixed draws from each fit carry its uncertainty on.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

NAMES = ("flat", "line", "saturating", "line and saturating")
# Probability before any reading is seen. Two causes of like size at once are rarer than one.
PRIOR = (0.3, 0.3, 0.3, 0.08)
EQUALISING_MIN = 0.4  # time constant, minutes; common practice: gauges settle within 1-2 minutes
EQUALISING_SHARE = 0.25  # prior standard deviation of that step, as a share of the first reading
DRAWS = 128
TAUS = 24
_NORMALS = np.random.default_rng(20_240).standard_normal((DRAWS, 4))


@dataclass(frozen=True)
class Fits:
    """Draws of all fitted shapes, flattened: every array has one value a draw, Pa and minutes."""

    chance: Floats  # sums to 1
    start: Floats
    rate: Floats
    swing: Floats
    tau: Floats
    shape_chances: tuple[float, ...]  # in the order of NAMES
    misfit: float  # chi-squared of the best shape per degree of freedom

    def levelling(self, minutes: float) -> Floats:
        """Rise by the part that levels off, Pa."""
        return np.asarray(self.swing * -np.expm1(-minutes / self.tau))

    def pressure(self, minutes: float) -> Floats:
        """Pressure without the equalising term, Pa."""
        return self.start + self.rate * minutes + self.levelling(minutes)

    def slope(self, minutes: float) -> Floats:
        """Rate of rise, Pa/min."""
        return np.asarray(self.rate + self.swing / self.tau * np.exp(-minutes / self.tau))

    def mean(self, values: Floats, where: Floats | None = None) -> float:
        """Mean over the draws, or over those where `where` is 1."""
        chance = self.chance if where is None else self.chance * where
        return float((chance * values).sum() / max(float(chance.sum()), 1e-300))


def tau_grid(span_min: float) -> Floats:
    """Time constants tried, minutes: from just above equalising to three times the hold.

    A slower saturation looks straight over the hold, and is then read as the steady rise it shows.
    """
    return np.geomspace(1.2, max(30.0, 3.0 * span_min), TAUS)


def fit_shapes(times: Floats, pressures: Floats, sigmas: Floats, ceiling_pa: float) -> Fits:
    """Fit every shape to readings (minutes, Pa, standard errors in Pa).

    `ceiling_pa` is the highest plateau that a saturating rise may head for. Where no shape fits as
    well as the gauge should allow, the errors are widened until one does.
    """
    fits = _fit(times, pressures, sigmas, ceiling_pa)
    if fits.misfit > 1.5:
        fits = _fit(times, pressures, sigmas * np.sqrt(fits.misfit), ceiling_pa)
    return fits


def _fit(times: Floats, pressures: Floats, sigmas: Floats, ceiling_pa: float) -> Fits:
    tau = tau_grid(float(times[-1]))
    tau_of = np.concatenate([[1.0, 1.0], tau, tau])
    name_of = np.array([0, 1] + [2] * TAUS + [3] * TAUS)
    spreads = _spreads(times, pressures, sigmas, name_of, tau_of)
    gram, against, square = _sums(times, pressures - pressures[0], sigmas, tau)
    grid = np.concatenate([[0, 0], np.arange(TAUS), np.arange(TAUS)])  # a term left out is scaled 0
    plain = gram[grid] * spreads[:, :, None] * spreads[:, None, :]
    moment = against[grid] * spreads
    normal = plain + np.eye(4)
    chol = np.linalg.cholesky(normal)
    mean = np.linalg.solve(normal, moment[..., None])[..., 0]
    log_evidence = 0.5 * (moment * mean).sum(axis=1)
    log_evidence -= np.log(np.diagonal(chol, axis1=1, axis2=2)).sum(axis=1)
    spread_draws = np.linalg.solve(np.swapaxes(chol, 1, 2), _NORMALS.T[None])
    draws = (mean[:, :, None] + spread_draws) * spreads[:, :, None]
    residual = square + (mean * ((plain @ mean[..., None])[..., 0] - 2.0 * moment)).sum(axis=1)
    misfit = max(float(residual.min()), 0.0) / max(len(times) - 3, 1)
    return _weigh(draws, log_evidence, name_of, tau_of, float(pressures[0]), ceiling_pa, misfit)


def _sums(
    times: Floats, rises: Floats, sigmas: Floats, tau: Floats
) -> tuple[Floats, Floats, float]:
    """Weighted sums that the fits need: X'X (taus, 4, 4), X'y (taus, 4) and y'y.

    The columns of X are start, equalising, rate and swing; only the last depends on tau, so that
    a long record costs one matrix product.
    """
    shared = np.stack([np.ones_like(times), np.exp(-times / EQUALISING_MIN), times, rises])
    shared = shared / sigmas
    swing = -np.expm1(-times[None, :] / tau[:, None]) / sigmas
    common, crossed = shared @ shared.T, swing @ shared.T
    gram = np.empty((len(tau), 4, 4))
    gram[:, :3, :3] = common[:3, :3]
    gram[:, 3, :3] = gram[:, :3, 3] = crossed[:, :3]
    gram[:, 3, 3] = (swing * swing).sum(axis=1)
    against = np.column_stack([np.tile(common[:3, 3], (len(tau), 1)), crossed[:, 3]])
    return gram, against, float(common[3, 3])


def _spreads(
    times: Floats, pressures: Floats, sigmas: Floats, name_of: NDArray[np.int_], tau_of: Floats
) -> Floats:
    """Prior standard deviation of each coefficient (shapes, 4); zero leaves a term out."""
    size = max(float(pressures.max() - pressures.min()), 3.0 * float(sigmas.max()))
    span = float(times[-1])
    has_rate, has_swing = np.isin(name_of, (1, 3)), name_of >= 2
    return np.stack(
        [
            np.full(len(name_of), float(pressures[0]) + size),
            np.full(len(name_of), EQUALISING_SHARE * float(pressures[0])),
            np.where(has_rate, size / span, 0.0),
            np.where(has_swing, size / -np.expm1(-span / tau_of), 0.0),
        ],
        axis=1,
    )


def _weigh(
    draws: Floats, log_evidence: Floats, name_of: NDArray[np.int_], tau_of: Floats,
    first_pa: float, ceiling_pa: float, misfit: float,
) -> Fits:
    start, rate, swing = draws[:, 0] + first_pa, draws[:, 2], draws[:, 3]
    below = (swing == 0) | (start + swing <= ceiling_pa)
    allowed = (rate >= 0) & (swing >= 0) & (start > 0) & below
    if not allowed.any():  # readings that no shape explains: keep all, the misfit has widened them
        allowed[:] = True
    inside = allowed.sum(axis=1)
    signs = np.array([0.0, 1.0, 1.0, 2.0])[name_of]  # half of the prior lies on the allowed side
    log_weight = log_evidence + np.log(np.maximum(inside, 1) / DRAWS) + signs * np.log(2.0)
    log_weight[inside == 0] = -np.inf
    log_weight += np.log(np.array(PRIOR) / np.array([1, 1, TAUS, TAUS]))[name_of]
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    chance = weight[:, None] * allowed / np.maximum(inside, 1)[:, None]
    return Fits(
        (chance / chance.sum()).ravel(), start.ravel(), rate.ravel(), swing.ravel(),
        np.repeat(tau_of, DRAWS),
        tuple(float(weight[name_of == i].sum()) for i in range(4)), misfit,
    )
