"""Forecast of a pull: minutes to the target, the chance of getting there, and what holds it up."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fieldvoice.quantity.constants import PA_PER_ATM, from_microns
from fieldvoice.quantity.counted import counted
from fieldvoice.trade.errors import TradeError, require_between, require_positive
from fieldvoice.trade.vacuum import pumpdown_causes as causes
from fieldvoice.trade.vacuum import pumpdown_words as words
from fieldvoice.trade.vacuum.decay_types import VacuumReading
from fieldvoice.trade.vacuum.pumpdown_outlook import Outlook, outlook, signs

Floats = NDArray[np.float64]

BREAK_JUMP = 3.0  # a rise to this many times the reading before is a nitrogen break
STALL_SEEN_MIN = 6.0
STALL_AHEAD_MIN = 5.0
STALL_FALL = 0.05  # a fall of under 5 % in 5 minutes is hardly a fall (common practice)
INTERVAL = (0.05, 0.5, 0.95)
UNLIKELY = 0.4  # below this chance no minutes are told
BELOW_BY = 3.0  # standard errors below its blank-off that a pull must read to refute it


@dataclass(frozen=True)
class PullForecast:
    """Minutes from the last reading to the target if it gets there; inf where that is unlikely."""

    minutes_to_target: float  # median
    low_minutes: float
    high_minutes: float  # nine in ten of the pulls that get there do between low and high
    chance_of_reaching: float  # within two hours, if nothing is changed
    target_pa: float
    last_pa: float
    fall_pa_per_min: float  # over the next minute, at the pace of the last two readings
    stalled: bool
    cause: str | None  # likeliest cause of a stall, or what makes the target out of reach
    reason: str
    next_action: str
    readings: tuple[VacuumReading, ...]
    ambient_c: float | None
    blank_off_pa: float | None
    gauge_resolution_pa: float
    gauge_noise_fraction: float
    source: str = ("pace of the last readings, distance above the blank-off, level and time; "
                   "chances and minutes fitted to simulated pulls and measured on others")

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON; minutes not told become None."""
        plain = asdict(self)
        for name in ("minutes_to_target", "low_minutes", "high_minutes"):
            plain[name] = plain[name] if math.isfinite(plain[name]) else None
        return plain


def forecast_pull(
    readings: Sequence[VacuumReading], target_pa: float, *, ambient_c: float | None = None,
    blank_off_pa: float | None = None, gauge_resolution_pa: float = from_microns(5),
    gauge_noise_fraction: float = 0.01,
) -> PullForecast:
    """Forecast from readings (minutes, absolute Pa), at least three.

    Readings before the last nitrogen break (a jump to three times the pressure) are left out.

    `blank_off_pa` is what pump, hoses and gauge reach alone: a target at or below it is out of
    reach, unless the pull itself reads below it, and the fall is measured from it. `ambient_c`,
    the pipe temperature, only serves to name the cause of a stall. Raises TradeError on too few
    readings, times that do not grow, or pressures that cannot be.
    """
    _check(readings, target_pa, ambient_c, blank_off_pa)
    readings = _one_pull(readings)
    require_between("gauge noise fraction", gauge_noise_fraction, 0.0, 0.5)
    require_positive("gauge resolution", gauge_resolution_pa, "Pa")
    times = np.array([r.minutes for r in readings], dtype=np.float64)
    pressures = np.array([r.pressure_pa for r in readings], dtype=np.float64)
    sigmas = gauge_noise_fraction * pressures + gauge_resolution_pa
    last = float(pressures[-1])
    alone = _unrefuted(blank_off_pa, last, gauge_noise_fraction, gauge_resolution_pa)
    slope = _recent_slope(times, pressures, sigmas)
    ahead = (outlook(signs(times, pressures, target_pa, alone or 0.0))
             if (alone or 0.0) < target_pa < last else None)
    falls = ahead is not None and float(ahead.carried) >= 0.5
    stalled = last > target_pa and not falls and _hardly_falls(slope)
    cause = _cause(last, target_pa, slope if stalled else None, ambient_c, alone)
    chance, (low, middle, high) = _told(last <= target_pa, ahead, cause)
    told = words.Told(last, target_pa, low, middle, high, chance, cause, stalled, falls,
                      blank_off_pa, refuted=alone != blank_off_pa)
    return PullForecast(
        middle, low, high, chance, target_pa, last, _fall(times, pressures), stalled, cause,
        words.reason(told), words.next_action(told), tuple(readings), ambient_c, blank_off_pa,
        gauge_resolution_pa, gauge_noise_fraction,
    )


def ideal_minutes(volume_m3: float, speed_m3_per_s: float, start_pa: float, end_pa: float) -> float:
    """Time to pump a dry volume at a steady speed, minutes: t = (V / S) ln(p0 / p).

    A lower bound only: hoses, outgassing and water govern the real time (vacuum textbooks).
    """
    require_positive("volume", volume_m3, "m3")
    require_positive("speed", speed_m3_per_s, "m3/s")
    require_positive("end pressure", end_pa, "Pa")
    require_between("start pressure", start_pa, end_pa, 1.1 * PA_PER_ATM, "Pa")
    return volume_m3 / speed_m3_per_s * math.log(start_pa / end_pa) / 60.0


def _unrefuted(
    blank_off_pa: float | None, last_pa: float, noise_fraction: float, resolution_pa: float
) -> float | None:
    """The blank-off, or None where the pull reads below it by more than the gauge's error."""
    if blank_off_pa is None:
        return None
    error = noise_fraction * blank_off_pa + resolution_pa
    return None if last_pa < blank_off_pa - BELOW_BY * error else blank_off_pa


def _fall(times: Floats, pressures: Floats) -> float:
    """Fall over the next minute at the pace of the last two readings, Pa; below 0 in a rise."""
    pace = np.log(pressures[-2] / pressures[-1]) / (times[-1] - times[-2])
    return -float(pressures[-1]) * math.expm1(-max(float(pace), -1.0))


def _told(
    there: bool, ahead: Outlook | None, cause: str | None
) -> tuple[float, tuple[float, ...]]:
    """The chance and the interval of minutes, low, median and high, that are told."""
    if there:
        return 1.0, (0.0, 0.0, 0.0)
    chance = float(ahead.chance) if ahead is not None else 0.0
    if ahead is None or chance < UNLIKELY or cause == causes.RISES:
        return chance, (math.inf, math.inf, math.inf)
    return chance, tuple(ahead.minutes(INTERVAL))


def _hardly_falls(slope: float | None) -> bool:
    return slope is not None and -slope * STALL_AHEAD_MIN < STALL_FALL


def _cause(
    last_pa: float, target_pa: float, slope: float | None, ambient_c: float | None,
    alone_pa: float | None,
) -> str | None:
    """What holds the pull up: the rig itself, or the cause of a stall (slope given)."""
    if alone_pa is not None and last_pa > target_pa and alone_pa >= target_pa:
        return causes.of_the_rig(alone_pa)
    return None if slope is None else causes.of_a_stall(last_pa, slope, ambient_c, alone_pa)


def _recent_slope(times: Floats, pressures: Floats, sigmas: Floats) -> float | None:
    """Slope of ln p, per minute, over the last STALL_SEEN_MIN by weighted least squares.

    Of sparse readings the last three count. None when they span less than half of that: too soon.
    """
    recent = times >= min(times[-1] - STALL_SEEN_MIN, times[-3])
    t, y, weight = times[recent], np.log(pressures[recent]), (pressures / sigmas)[recent] ** 2
    if t[-1] - t[0] < 0.5 * STALL_SEEN_MIN:
        return None
    middle = float((weight * t).sum() / weight.sum())
    return float((weight * (t - middle) * y).sum() / (weight * (t - middle) ** 2).sum())


def _one_pull(readings: Sequence[VacuumReading]) -> tuple[VacuumReading, ...]:
    """The readings since the pressure last jumped up, as a nitrogen break makes it."""
    start = 0
    for index in range(1, len(readings)):
        if readings[index].pressure_pa > BREAK_JUMP * readings[index - 1].pressure_pa:
            start = index
    if len(readings) - start < 3:
        raise TradeError(
            f"a forecast needs at least three readings of one pull, not {len(readings) - start}: "
            "take more, a minute apart"
        )
    return tuple(readings[start:])


def _check(
    readings: Sequence[VacuumReading], target_pa: float, ambient_c: float | None,
    blank_off_pa: float | None,
) -> None:
    for index, reading in enumerate(readings):
        require_positive(f"pressure of reading {index + 1}", reading.pressure_pa, "Pa")
        require_between(
            f"pressure of reading {index + 1}", reading.pressure_pa, 0.0, 1.1 * PA_PER_ATM, "Pa"
        )
        require_between(f"time of reading {index + 1}", reading.minutes, 0.0, 1e5, "minutes")
        if index and reading.minutes <= readings[index - 1].minutes:
            raise TradeError(
                f"time of reading {index + 1} is {counted(f'{reading.minutes:g}', 'minute')}, "
                f"not after the one before ({readings[index - 1].minutes:g}): times must grow; "
                "drop or correct one"
            )
    require_between("target", target_pa, from_microns(1), PA_PER_ATM, "Pa")
    if ambient_c is not None:
        require_between("ambient temperature", ambient_c, -60.0, 70.0, "C")
    if blank_off_pa is not None:
        require_positive("blank-off pressure", blank_off_pa, "Pa")
