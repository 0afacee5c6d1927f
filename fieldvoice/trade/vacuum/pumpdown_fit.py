"""Fit how a pull goes on: towards a floor, exponentially or more slowly, with its uncertainty.

p(t) = floor + height x decay(t / tau). The decays are exp(-x) (a volume pumped at a steady speed),
1 / (1 + x)^n (gas still coming off oil and walls) and (1 - x)^n (a drop of water that dries up).
Floor and height are not negative; a floor may last (leak) or fade (water, outgassing). Each
decay and tau of a fixed grid is fitted by weighted linear least squares, weighed by its marginal
likelihood, and sampled by fixed draws; older readings count less, for speed and gas load change.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

POWERS = (np.inf, 2.0, 1.0, 0.5, -1.0, -2.0)
TAUS_MIN = np.geomspace(0.3, 90.0, 12)
_TAU = np.tile(TAUS_MIN, len(POWERS))
_POWER = np.repeat(np.array(POWERS), len(TAUS_MIN))
DRAWS = 32
MODEL_ERROR = 0.03  # relative; no pull follows one of these shapes better than this
DRIFT = 4.0  # growth of that error per e-fold of pressure: speed and gas load change on the way
MEMORY_MIN = 10.0  # a reading this much older than the last has its variance multiplied by e
HORIZON_MIN = 120.0
NEGLIGIBLE = 1e-6
_AHEAD_MIN = np.geomspace(0.2, HORIZON_MIN, 24)
_RNG = np.random.default_rng(31_415)
_NORMALS = _RNG.standard_normal((2, DRAWS))
# Gas load behind a floor: water or outgassing that dries up (share below), or a lasting leak.
FADING_SHARE = 0.75
FLOOR_SPREAD = 0.5  # prior standard deviation of the floor, as a share of the last reading
_SHAPE = (len(_TAU), DRAWS)
_FADES = np.where(
    _RNG.random(_SHAPE) < FADING_SHARE,
    np.exp(_RNG.uniform(np.log(3.0), np.log(200.0), _SHAPE)), np.inf,
)


@dataclass(frozen=True)
class PullFits:
    """Draws of all fitted decays, flattened; time counts from the last reading, Pa and minutes."""

    chance: Floats  # sums to 1
    floor: Floats
    height: Floats  # above the floor at the last reading
    tau: Floats
    power: Floats
    fade: Floats  # time constant with which the floor itself dries up; inf for a lasting one

    def minutes_to(self, target_pa: float) -> Floats:
        """Minutes from the last reading until each draw is at the target; inf where it never is."""
        before, level = 0.0, self.floor + self.height
        found = np.where(level <= target_pa, 0.0, np.inf)
        for minute in _AHEAD_MIN:
            now = self.pressure(float(minute))
            crossed = np.flatnonzero(np.isinf(found) & (now <= target_pa))
            drop = np.log(level[crossed] / np.maximum(now[crossed], 1e-3))
            share = np.log(level[crossed] / target_pa) / np.maximum(drop, 1e-12)
            found[crossed] = before + (minute - before) * share
            before, level = float(minute), now
        return np.asarray(found)

    def pressure(self, minutes: float) -> Floats:
        """Pressure of each draw so long after the last reading, Pa."""
        left = decay(np.asarray(minutes), self.tau, self.power)
        return np.asarray(self.floor * np.exp(-minutes / self.fade) + self.height * left)

    def quantiles(self, values: Floats, shares: tuple[float, ...]) -> list[float]:
        """Weighted quantiles over the draws."""
        order = np.argsort(values)
        mass = np.cumsum(self.chance[order])
        places = np.minimum(np.searchsorted(mass, shares), len(values) - 1)
        return [float(value) for value in values[order][places]]

    def mean(self, values: Floats) -> float:
        """Weighted mean over the draws."""
        return float((self.chance * values).sum())


def fit_pull(times: Floats, pressures: Floats, sigmas: Floats) -> PullFits:
    """Fit readings (minutes, Pa, standard errors Pa), at least three."""
    last = float(pressures[-1])
    model = MODEL_ERROR * pressures * (1.0 + DRIFT * np.abs(np.log(pressures / last)))
    age = times[-1] - times
    errors = np.sqrt((sigmas**2 + model**2) * np.exp(age / MEMORY_MIN))
    spreads = np.array([FLOOR_SPREAD * last, max(last, float(pressures.max() - pressures.min()))])
    decays = decay(-age, _TAU[:, None], _POWER[:, None])
    columns = np.stack([np.ones_like(decays), decays], axis=2) * spreads / errors[None, :, None]
    seen = pressures / errors
    normal = np.swapaxes(columns, 1, 2) @ columns + np.eye(2)
    moment = np.swapaxes(columns, 1, 2) @ seen
    chol = np.linalg.cholesky(normal)
    mean = np.linalg.solve(normal, moment[..., None])[..., 0]
    log_evidence = 0.5 * (moment * mean).sum(axis=1)
    log_evidence -= np.log(np.diagonal(chol, axis1=1, axis2=2)).sum(axis=1)
    spread = np.linalg.solve(np.swapaxes(chol, 1, 2), _NORMALS[None])
    return _weigh((mean[:, :, None] + spread) * spreads[:, None], log_evidence)


def decay(minutes: Floats, tau: Floats, power: Floats) -> Floats:
    """Height left, 1 at the last reading (time zero), before it and after it.

    Power inf is exp(-x); n > 0 is (1 + x)^-n, held where it cannot be followed further back;
    n < 0 is a load that dries up at x = 1: (1 - x)^-n.
    """
    x = minutes / tau
    exponent = np.where(np.isinf(power), 1.0, power)
    base = np.where(power > 0, np.maximum(1.0 + x, 0.02), np.maximum(1.0 - x, 1e-9))
    return np.asarray(np.where(np.isinf(power), np.exp(np.minimum(-x, 50.0)), base**-exponent))


def _weigh(draws: Floats, log_evidence: Floats) -> PullFits:
    allowed = (draws[:, 0] >= 0) & (draws[:, 1] >= 0)
    if not allowed.any():
        allowed[:] = True
    inside = allowed.sum(axis=1)
    log_weight = log_evidence + np.log(np.maximum(inside, 1) / DRAWS)
    log_weight[inside == 0] = -np.inf
    weight = np.exp(log_weight - log_weight.max())
    chance = (weight[:, None] * allowed / np.maximum(inside, 1)[:, None]).ravel()
    kept = chance > NEGLIGIBLE * float(chance.sum())
    return PullFits(
        chance[kept] / chance[kept].sum(), draws[:, 0].ravel()[kept], draws[:, 1].ravel()[kept],
        np.repeat(_TAU, DRAWS)[kept], np.repeat(_POWER, DRAWS)[kept], _FADES.ravel()[kept],
    )
