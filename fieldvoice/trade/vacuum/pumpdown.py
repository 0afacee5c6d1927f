"""Forecast of a pull: minutes to the target, whether it has stalled, and on what."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from fieldvoice.quantity.constants import KELVIN_AT_0_C, PA_PER_ATM, c_to_f, from_microns, microns
from fieldvoice.trade.errors import TradeError, require_between, require_positive
from fieldvoice.trade.vacuum import water
from fieldvoice.trade.vacuum.decay_types import VacuumReading
from fieldvoice.trade.vacuum.pumpdown_fit import HORIZON_MIN, Floats, fit_pull

BREAK_JUMP = 3.0  # a rise to this many times the reading before is a nitrogen break
STALL_SEEN_MIN = 6.0
STALL_AHEAD_MIN = 5.0
STALL_FALL = 0.05  # a fall expected to be under 5 % in 5 minutes is a stall (common practice)
RISING = 0.15  # a rise of over 15 % in 5 minutes is no stall but a fault (common practice)
# "Likely within": this share of the forecast. Where it is finite, four simulated pulls in five are
# there by then (pumpdown_study), for a stall is likelier to come than the fits allow.
LIKELY = 0.9
TOO_WIDE = 5.0  # times the median: "likely within" so much longer helps nobody
RISES = "the pressure is rising"
OLD_OIL_PA = from_microns(100)  # a blank-off above this speaks of old oil (common practice)


@dataclass(frozen=True)
class PullForecast:
    """Minutes from the last reading to the target, with a 90 % interval; inf means not in sight."""

    minutes_to_target: float  # median
    low_minutes: float
    high_minutes: float  # inf when it may not get there within two hours
    likely_minutes: float  # four simulated pulls in five are there by then; inf as above
    chance_of_reaching: float  # within two hours, if nothing is changed
    target_pa: float
    last_pa: float
    fall_pa_per_min: float  # over the next minute
    stalled: bool
    cause: str | None  # likeliest cause of a stall
    reason: str
    next_action: str
    readings: tuple[VacuumReading, ...]
    ambient_c: float | None
    blank_off_pa: float | None
    gauge_resolution_pa: float
    gauge_noise_fraction: float
    source: str = ("floor plus exponential, power-law or drying decay, weighed by marginal "
                   "likelihood; interval measured on simulated pulls")

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON; minutes not in sight become None."""
        plain = asdict(self)
        for name in ("minutes_to_target", "low_minutes", "high_minutes", "likely_minutes"):
            plain[name] = plain[name] if math.isfinite(plain[name]) else None
        return plain


def forecast_pull(
    readings: Sequence[VacuumReading], target_pa: float, *, ambient_c: float | None = None,
    blank_off_pa: float | None = None, gauge_resolution_pa: float = from_microns(5),
    gauge_noise_fraction: float = 0.01,
) -> PullForecast:
    """Forecast from readings (minutes since the pump started, absolute Pa), at least three.

    Readings before the last nitrogen break (a jump to three times the pressure) are left out.

    `blank_off_pa` is what pump and gauge reach alone; `ambient_c` the pipe temperature: both only
    serve to name the cause of a stall. Raises TradeError on too few readings, times that do not
    grow, or pressures that cannot be.
    """
    _check(readings, target_pa, ambient_c, blank_off_pa)
    readings = _since_break(readings)
    if len(readings) < 3:
        raise TradeError(
            f"a forecast needs at least three readings of one pull, not {len(readings)}: "
            "take more, a minute apart"
        )
    require_between("gauge noise fraction", gauge_noise_fraction, 0.0, 0.5)
    require_positive("gauge resolution", gauge_resolution_pa, "Pa")
    times = np.array([r.minutes for r in readings], dtype=np.float64)
    pressures = np.array([r.pressure_pa for r in readings], dtype=np.float64)
    sigmas = gauge_noise_fraction * pressures + gauge_resolution_pa
    fits = fit_pull(times, pressures, sigmas)
    minutes = fits.minutes_to(target_pa)
    low, middle, likely, high = fits.quantiles(minutes, (0.05, 0.5, LIKELY, 0.95))
    chance = fits.mean(np.isfinite(minutes).astype(np.float64))
    last = readings[-1].pressure_pa
    slope = _recent_slope(times, pressures, sigmas)
    stalled = last > target_pa and slope is not None and -slope * STALL_AHEAD_MIN < STALL_FALL
    cause = _cause(last, slope or 0.0, ambient_c, blank_off_pa) if stalled else None
    fall = fits.mean(fits.pressure(0.0) - fits.pressure(1.0))
    return PullForecast(
        middle, low, high, likely, chance, target_pa, last, fall, stalled, cause,
        _reason(last, target_pa, (low, middle, likely, high), chance, cause),
        _next(last, target_pa, cause), tuple(readings), ambient_c, blank_off_pa,
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


def _since_break(readings: Sequence[VacuumReading]) -> tuple[VacuumReading, ...]:
    """The readings since the pressure last jumped up, as a nitrogen break makes it."""
    start = 0
    for index in range(1, len(readings)):
        if readings[index].pressure_pa > BREAK_JUMP * readings[index - 1].pressure_pa:
            start = index
    return tuple(readings[start:])


def _cause(
    last_pa: float, slope: float, ambient_c: float | None, blank_off_pa: float | None
) -> str:
    """Name the likeliest cause of a stall from its level; a level alone proves nothing."""
    if slope * STALL_AHEAD_MIN > RISING:
        return RISES
    if blank_off_pa is not None and last_pa < 2.0 * blank_off_pa:
        if blank_off_pa > OLD_OIL_PA:
            return "contaminated pump oil"
        return "pump at its limit"
    if ambient_c is not None:
        at_pipe = water.vapour_pressure_pa(ambient_c + KELVIN_AT_0_C)
        if 0.6 * at_pipe < last_pa < 1.3 * at_pipe:
            return "water boiling off"
    if 0.7 * water.TRIPLE_PA < last_pa < 1.4 * water.TRIPLE_PA:
        return "water freezing"
    return "leak, moisture or pump" if blank_off_pa is None else "leak or moisture"


def _reason(
    last_pa: float, target_pa: float, minutes: tuple[float, float, float, float], chance: float,
    cause: str | None,
) -> str:
    low, middle, likely, high = minutes
    target = f"{microns(target_pa):.0f} microns"
    if last_pa <= target_pa:
        return f"Already at {target}."
    if cause == RISES:
        return f"{_um(last_pa)}, and {cause}: {target} is not in sight."
    start = f"{_um(last_pa)} and hardly falling: {cause}. " if cause else ""
    if not math.isfinite(low):
        return f"{start}{target} is not in sight as it goes now."
    if not math.isfinite(middle):
        return f"{start}At least {_min(low)} to {target}; it will likely not get there as it goes."
    about = f"{start}{_about(middle)} to {target}"
    if math.isfinite(high):
        between = f"between {_min(low)} and" if low >= 1.0 else "at most"
        return f"{about}." if high < 1.0 else f"{about}, {between} {_min(high)}."
    by = f", at least {_min(low)}" if low >= 1.0 else ""
    if likely < TOO_WIDE * middle:
        by = f", likely within {_min(likely)}"
    return f"{about}{by}; {100 * (1 - chance):.0f} chances in 100 that it stalls first."


def _about(minutes: float) -> str:
    return "Under a minute" if minutes < 1.0 else f"About {_min(minutes)}"


def _next(last_pa: float, target_pa: float, cause: str | None) -> str:
    if last_pa <= target_pa:
        return "Go on until it is dry, then isolate and start the hold."
    if cause is None:
        return "Keep pumping."
    return {
        RISES: "Check that the pump runs, its valve is open, and no hose is "
        "loose.",
        "contaminated pump oil": "Change the pump oil, run with gas ballast, and blank off again.",
        "pump at its limit": "The pump can do no more: check it alone, use another, or check the "
        "gauge.",
        "water boiling off": "Open the gas ballast, warm the pipe, or break with dry nitrogen and "
        f"pull again. {c_to_f(0):.0f} °F and below it freezes.",
        "water freezing": "Break with dry nitrogen, warm the low spots, and pull again.",
        "leak, moisture or pump": "Isolate and watch for ten minutes: a steady rise is a leak, a "
        "levelling one is moisture; none means the pump, its oil or the hose. Blank off the pump "
        "to tell.",
        "leak or moisture": "Isolate and watch for ten minutes: a steady rise is a leak, a "
        "levelling one is moisture. Check that cores are out and hoses wide.",
    }[cause]


def _um(pressure_pa: float) -> str:
    value = microns(pressure_pa)
    return f"{round(value, -1) if value >= 1000 else value:.0f} microns"


def _min(minutes: float) -> str:
    if minutes > HORIZON_MIN:
        return "over two hours"
    if minutes < 1.0:
        return "a minute"
    return f"{minutes:.0f} minute" + ("" if round(minutes) == 1 else "s")


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
                f"time of reading {index + 1} is {reading.minutes:g} minutes, not after the one "
                f"before ({readings[index - 1].minutes:g}): times must grow; drop or correct one"
            )
    require_between("target", target_pa, from_microns(1), PA_PER_ATM, "Pa")
    if ambient_c is not None:
        require_between("ambient temperature", ambient_c, -60.0, 70.0, "C")
    if blank_off_pa is not None:
        require_positive("blank-off pressure", blank_off_pa, "Pa")
