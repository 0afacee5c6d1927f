"""Whether a pull gets to its target within two hours, and when: by its fall, or by drying up.

Two ways lead there. The fall that was seen carries the pressure down; or water holds it up on the
way, and dries up in time. The chance of each is logistic in what the readings show; the minutes of
each are log-logistic. The numbers below were fitted by maximum likelihood to simulated pulls
(studies/pumpdown_tuning.py); studies/pumpdown_study.py measures them on others.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fieldvoice.quantity.constants import from_microns
from fieldvoice.trade.vacuum import water

Floats = NDArray[np.float64]

HORIZON_MIN = 120.0
# e-folds a minute: a slower fall cannot be told from none; a faster one is over at once
SLOWEST, FASTEST = 0.003, 5.0
SHORTEST_MIN = 0.1
LEAST_ABOVE = 0.02  # of a reading: so much of it at least is more than the blank-off
USUAL_SPAN_MIN = 5.0
USUAL_TARGET_PA = from_microns(500)
_MINUTES = np.geomspace(0.01, HORIZON_MIN, 500)


@dataclass(frozen=True)
class Signs:
    """What readings show, one value a pull or a number: e-folds, and logarithms of ratios."""

    rate: Floats  # ln of the fall between the last two readings, in e-folds a minute
    distance: Floats  # e-folds from the last reading down to the target, above the blank-off
    level: Floats  # ln of the last reading over water's triple point
    span: Floats  # ln of the time from first to last reading, over five minutes
    depth: Floats  # ln of 500 microns over the target


@dataclass(frozen=True)
class Numbers:
    """Coefficients in the order 1, then the signs named."""

    carries: tuple[float, ...]  # rate, distance, level, span, depth
    dries: tuple[float, ...]  # level, span, rate, depth
    falling: tuple[float, ...]  # ln of minutes: ln(distance / rate), distance
    falling_spread: float  # of that logarithm
    drying: tuple[float, ...]  # ln of minutes: level, span
    drying_spread: float


FITTED = Numbers(
    carries=(3.231, 2.754, -1.375, -1.820, 1.299, -0.858),
    dries=(0.101, 0.470, -0.378, -0.088, -0.235), falling=(0.254, 0.900, 0.432),
    falling_spread=0.184, drying=(4.053, 0.387, 0.825), drying_spread=1.111,
)


@dataclass(frozen=True)
class Outlook:
    """Chance of each way to the target within two hours, and ln of its minutes (medians)."""

    carried: Floats
    dried: Floats  # not carried, but dried up in time
    falling_ln_minutes: Floats
    drying_ln_minutes: Floats
    numbers: Numbers

    @property
    def chance(self) -> Floats:
        """Of being at the target within two hours."""
        return self.carried + self.dried

    def within(self, minutes: Floats) -> Floats:
        """Chance of being there so many minutes after the last reading, at most two hours."""
        n, ln = self.numbers, np.log(minutes)
        falling = _share(ln, self.falling_ln_minutes, n.falling_spread)
        drying = _share(ln, self.drying_ln_minutes, n.drying_spread)
        return np.asarray(self.carried * falling + self.dried * drying)

    def minutes(self, shares: tuple[float, ...]) -> list[float]:
        """Quantiles of the minutes of one pull, if it gets there."""
        curve = self.within(_MINUTES) / self.chance
        return [float(m) for m in np.exp(np.interp(shares, curve, np.log(_MINUTES)))]


def signs(times: Floats, pressures: Floats, target_pa: float, blank_off_pa: float = 0.0) -> Signs:
    """Signs of one pull: minutes and Pa, the last above the target, that above the blank-off."""
    above = np.maximum(pressures - blank_off_pa, LEAST_ABOVE * pressures)
    rate = np.log(above[-2] / above[-1]) / (times[-1] - times[-2])
    return Signs(
        np.log(np.clip(rate, SLOWEST, FASTEST)),
        np.log(above[-1] / min(target_pa - blank_off_pa, above[-1])),
        np.log(pressures[-1] / water.TRIPLE_PA),
        np.log(max(times[-1] - times[0], SHORTEST_MIN) / USUAL_SPAN_MIN),
        np.log(USUAL_TARGET_PA / target_pa),
    )


def outlook(seen: Signs, numbers: Numbers = FITTED) -> Outlook:
    """The outlook of a pull, or of many, by what their readings show."""
    carries = _sum(numbers.carries, seen.rate, seen.distance, seen.level, seen.span, seen.depth)
    dries = _sum(numbers.dries, seen.level, seen.span, seen.rate, seen.depth)
    distance = np.maximum(seen.distance, 1e-3)
    falling = _sum(numbers.falling, np.log(distance) - seen.rate, distance)
    drying = _sum(numbers.drying, seen.level, seen.span)
    carried = _logistic(carries)
    return Outlook(carried, (1.0 - carried) * _logistic(dries), falling, drying, numbers)


def _sum(coefficients: tuple[float, ...], *signs: Floats) -> Floats:
    parts = (c * sign for c, sign in zip(coefficients[1:], signs, strict=True))
    return np.asarray(sum(parts, np.asarray(coefficients[0])))


def _logistic(value: Floats) -> Floats:
    return np.asarray(1.0 / (1.0 + np.exp(-np.clip(value, -50.0, 50.0))))


def _share(ln_minutes: Floats, middle: Floats, spread: float) -> Floats:
    """Log-logistic share there by then, of those there within two hours."""
    whole = _logistic((np.log(HORIZON_MIN) - middle) / spread)
    return np.asarray(_logistic((ln_minutes - middle) / spread) / whole)
