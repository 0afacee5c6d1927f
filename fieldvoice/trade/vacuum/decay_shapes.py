"""Fit the shapes a vacuum can take while it stands, and weigh them.

p(t) = start + rate t + swing k(t), plus an equalising term that dies within a minute or two of
isolation. k(t) is 1 - exp(-t / tau) for water behind a limited conductance (it heads for a level),
or ln(1 + t / tau) for outgassing whose rate falls as one over time since the pump took hold. Rate
and swing are not negative, and a level that water causes cannot pass water's vapour pressure at
the pipe. Every shape (each tau of a fixed grid) is fitted by linear least squares under Gaussian
priors, as wide as the rise itself where nothing better is known, and weighed by its marginal
likelihood: that is the selection criterion. Fixed draws from each fit carry its uncertainty on.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fieldvoice.quantity.constants import from_microns
from fieldvoice.trade.vacuum import decay_family
from fieldvoice.trade.vacuum.decay_family import Curves, Family, Floats

EQUALISING_MIN = 0.4  # time constant, minutes; common practice: gauges settle within 1-2 minutes
EQUALISING_SHARE = 0.25  # prior standard deviation of that step, as a share of the first reading
WIDE_SHARE = 1.5  # the same where the gauge sat close to the pump and read far too low
# Walls that a pump has brought this low give off little more: prior standard deviation (assumed).
WALLS_PA_PER_MIN = from_microns(8.0)
GAIN = 0.05  # standard error of a gauge's gain; common practice: good to a tenth of the reading
NEGLIGIBLE = 1e-6  # a shape less likely than this is dropped once weighed
DRAWS = 64
_NORMALS = np.random.default_rng(20_240).standard_normal((DRAWS, 4))
_GAINS = np.random.default_rng(20_241).standard_normal(DRAWS)
_BOUNDED = np.array([0, 1, 1, 2, 1, 2])  # how many coefficients of a shape may not be negative


@dataclass(frozen=True)
class Record:
    """Readings to fit, and what bounds the level of water: minutes and Pa."""

    times: Floats
    pressures: Floats
    sigmas: Floats  # standard errors
    ceiling_pa: float  # the highest plateau that a saturating rise may head for
    water_pa: tuple[float, float]  # where water enough heads for: mean, standard deviation


@dataclass(frozen=True)
class Fits:
    """Draws from the shapes that fit at all, one row a shape; Pa and minutes."""

    chance: Floats  # (shapes, draws), sums to 1
    start: Floats
    rate: Floats
    swing: Floats
    curves: Curves  # one a shape
    gain: Floats  # (draws,): what the gauge may show of a true pressure
    shape_chances: tuple[float, ...]  # in the order of NAMES
    misfit: float  # chi-squared of the best shape per degree of freedom

    def slowing(self, minutes: float) -> Floats:
        """Rise by the part that slows, Pa."""
        return np.asarray(self.swing * self.curves.at(minutes))

    def pressure(self, minutes: float) -> Floats:
        """Pressure without the equalising term, Pa."""
        return self.start + self.rate * minutes + self.slowing(minutes)

    def slope(self, minutes: float) -> Floats:
        """Rate of rise over the last hundredth of a minute, Pa/min."""
        width = 0.01
        steep = (self.curves.at(minutes) - self.curves.at(minutes - width)) / width
        return np.asarray(self.rate + self.swing * steep)

    def mean(self, values: Floats, where: Floats | None = None) -> float:
        """Mean over the draws, or over those where `where` is 1."""
        chance = self.chance if where is None else self.chance * where
        return float((chance * values).sum() / max(float(chance.sum()), 1e-300))


def fit_shapes(record: Record) -> Fits:
    """Fit every shape to a record.

    Where no shape fits as well as the gauge should allow, the errors are widened until one does.
    """
    fits = _fit(record, record.sigmas)
    if fits.misfit > 1.5:
        fits = _fit(record, record.sigmas * np.sqrt(fits.misfit))
    return fits


def _fit(record: Record, sigmas: Floats) -> Fits:
    shapes = decay_family.family(float(record.times[-1]))
    spreads, centre = _priors(record, sigmas, shapes)
    grams, againsts, total = _sums(record, sigmas, shapes.curves)
    gram, against = grams[shapes.curve], againsts[shapes.curve]
    plain = gram * spreads[:, :, None] * spreads[:, None, :]
    moment = (against - gram[:, :, 3] * centre[:, None]) * spreads
    square = total + centre * (gram[:, 3, 3] * centre - 2.0 * against[:, 3])
    chol = np.linalg.cholesky(plain + np.eye(4))
    inverse = np.linalg.inv(chol)
    whitened, back = (inverse @ moment[..., None])[..., 0], np.swapaxes(inverse, 1, 2)
    mean = (back @ whitened[..., None])[..., 0]
    log_evidence = 0.5 * ((whitened * whitened).sum(axis=1) - square)
    log_evidence -= np.log(np.diagonal(chol, axis1=1, axis2=2)).sum(axis=1)
    draws = (mean[:, :, None] + back @ _NORMALS.T) * spreads[:, :, None]
    draws[:, 3] += centre[:, None]
    residual = square + (mean * ((plain @ mean[..., None])[..., 0] - 2.0 * moment)).sum(axis=1)
    misfit = max(float(residual.min()), 0.0) / max(len(record.times) - 3, 1)
    return _weigh(draws, log_evidence + shapes.log_prior, shapes, record, misfit)


def _sums(record: Record, sigmas: Floats, curves: Curves) -> tuple[Floats, Floats, float]:
    """Weighted sums that the fits need: X'X (curves, 4, 4), X'y (curves, 4) and y'y.

    The columns of X are start, equalising, rate and swing; only the last depends on the curve, so
    that a long record costs one matrix product.
    """
    times, rises = record.times, record.pressures - record.pressures[0]
    shared = np.stack([np.ones_like(times), np.exp(-times / EQUALISING_MIN), times, rises])
    shared = shared / sigmas
    swing = curves.at(times) / sigmas
    common, crossed = shared @ shared.T, swing @ shared.T
    gram = np.empty((len(swing), 4, 4))
    gram[:, :3, :3] = common[:3, :3]
    gram[:, 3, :3] = gram[:, :3, 3] = crossed[:, :3]
    gram[:, 3, 3] = (swing * swing).sum(axis=1)
    against = np.column_stack([np.tile(common[:3, 3], (len(gram), 1)), crossed[:, 3]])
    return gram, against, float(common[3, 3])


def _priors(record: Record, sigmas: Floats, shapes: Family) -> tuple[Floats, Floats]:
    """Prior standard deviation of each coefficient (shapes, 4), and prior mean of the swing.

    A deviation of zero leaves a term out.
    """
    first, span = float(record.pressures[0]), float(record.times[-1])
    size = max(float(np.ptp(record.pressures)), 3.0 * float(sigmas.max()))
    curves = shapes.curves.of(shapes.curve)
    most = np.where(curves.falling, min(size, WALLS_PA_PER_MIN * span), size)
    swing = np.where(shapes.name >= decay_family.LEVEL, most / curves.at(span)[:, 0], 0.0)
    steady = np.isin(shapes.name, (decay_family.LINE, decay_family.LINE_LEVEL,
                                   decay_family.LINE_WALLS))
    spreads = np.stack([
        np.full(len(swing), first + size),
        np.where(shapes.wide, WIDE_SHARE, EQUALISING_SHARE) * first,
        np.where(steady, size / span, 0.0),
        np.where(shapes.full, record.water_pa[1], swing),
    ], axis=1)
    return spreads, np.where(shapes.full, record.water_pa[0], 0.0)


def _weigh(
    draws: Floats, log_weight: Floats, shapes: Family, record: Record, misfit: float
) -> Fits:
    start, rate, swing = draws[:, 0] + record.pressures[0], draws[:, 2], draws[:, 3]
    curves = shapes.curves.of(shapes.curve)
    below = (swing == 0) | curves.falling[:, None] | (start + swing <= record.ceiling_pa)
    allowed = (rate >= 0) & (swing >= 0) & (start > 0) & below
    if not allowed.any():  # readings that no shape explains: keep all, the misfit has widened them
        allowed[:] = True
    inside = allowed.sum(axis=1)
    # half of the prior lies on the allowed side of each bound, but for the level of enough water
    halved = np.where(shapes.full, 0, _BOUNDED[shapes.name])
    log_weight = log_weight + np.log(np.maximum(inside, 1) / DRAWS) + halved * np.log(2.0)
    log_weight[inside == 0] = -np.inf
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    by_name = np.bincount(shapes.name, weight, minlength=len(decay_family.NAMES))
    chance = weight[:, None] * allowed / np.maximum(inside, 1)[:, None]
    kept = np.flatnonzero(weight > NEGLIGIBLE)
    return Fits(chance[kept] / chance[kept].sum(), start[kept], rate[kept], swing[kept],
                curves.of(kept), np.exp(GAIN * _GAINS), tuple(by_name.tolist()), misfit)
