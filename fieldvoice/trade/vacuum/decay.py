"""The verdict of a standing-vacuum (decay) test: tight, wet, leaking, or not yet clear."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fieldvoice.quantity.constants import KELVIN_AT_0_C, PA_PER_ATM, PA_PER_MICRON, from_microns
from fieldvoice.quantity.counted import counted
from fieldvoice.trade.errors import TradeError, require_between, require_positive
from fieldvoice.trade.vacuum import decay_causes, decay_no_hold, decay_words, water
from fieldvoice.trade.vacuum.decay_causes import CAUSES
from fieldvoice.trade.vacuum.decay_family import NAMES, Floats
from fieldvoice.trade.vacuum.decay_outliers import find_outliers
from fieldvoice.trade.vacuum.decay_shapes import Fits, Record, fit_shapes
from fieldvoice.trade.vacuum.decay_types import (
    COMMON_PRACTICE,
    LIMITS,
    DecayLimits,
    DecayVerdict,
    Hold,
    VacuumReading,
    Verdict,
)
from fieldvoice.trade.vacuum.gauge_step import seen_steps_pa, unfit_for_hold
from fieldvoice.trade.vacuum.gauge_top import at_top

__all__ = [
    "COMMON_PRACTICE", "LIMITS", "DecayLimits", "DecayVerdict", "VacuumReading", "Verdict",
    "judge_decay",
]

MISSED = 5.0  # standard errors by which a fit may miss the last reading
SETTLED_MIN = 2.0  # after which equalising is over (common practice)


def judge_decay(
    readings: Sequence[VacuumReading],
    *,
    limits: DecayLimits = COMMON_PRACTICE,
    volume_m3: float | None = None,
    ambient_c: float | None = None,
    refrigerant: str | None = None,
    gauge_resolution_pa: float = from_microns(5),
    gauge_noise_fraction: float = 0.01,
) -> DecayVerdict:
    """Judge a standing vacuum from its readings (at least 3; times may be uneven but must grow).

    What the words mean, with H the hold of `limits` and p(H) the fitted pressure at its end:
    leaking: p(H) is above the limit and the steady part is at least half of the rise, or p(H) is
    within it but the steady part would break it in one more hold; wet: above the limit, and the
    part that levels off is the larger; tight: otherwise. A verdict is given when its probability
    over all fitted shapes reaches `limits.sure_at`; tight also needs readings to the end of H.

    `volume_m3` gives leak rates, `refrigerant` what they are counted in; `ambient_c` (pipe
    temperature, C) bounds the plateau that water can reach. One reading's standard error is
    gauge_noise_fraction * p + gauge_resolution_pa and that of the step its gauge moves by.
    Raises TradeError on times that do not grow, pressures not above zero or above an atmosphere,
    a volume or temperature that cannot be, or a `step_pa` too coarse for the limit.

    A pressure that falls, one that stands above the limit from the start, or a gauge at its top is
    not yet clear.
    """
    hold = Hold(tuple(readings), limits, volume_m3, ambient_c, refrigerant)
    _check(hold, gauge_resolution_pa, gauge_noise_fraction)
    noise = (gauge_noise_fraction, gauge_resolution_pa)
    return replace(
        _judge(hold, noise), gauge_resolution_pa=gauge_resolution_pa,
        gauge_noise_fraction=gauge_noise_fraction,
    )


def fitted_curve(
    readings: Sequence[VacuumReading], at_minutes: Sequence[float],
    *, ambient_c: float | None = None, gauge_resolution_pa: float = from_microns(5),
    gauge_noise_fraction: float = 0.01,
) -> list[float]:
    """What the verdict is judged by, drawn: pressures (Pa) of the fitted shapes at some minutes.

    The mean over all shapes, weighed by how well each fits. Raises TradeError for fewer than three
    readings and for such as `judge_decay` refuses.
    """
    fits = _drawn(readings, ambient_c, gauge_resolution_pa, gauge_noise_fraction)
    return [float(fits.mean(fits.pressure(float(minute)))) for minute in at_minutes]


def fitted_band(
    readings: Sequence[VacuumReading], at_minutes: Sequence[float],
    *, ambient_c: float | None = None, gauge_resolution_pa: float = from_microns(5),
    gauge_noise_fraction: float = 0.01,
) -> list[tuple[float, float, float]]:
    """The curve of `fitted_curve` with its band: at each minute low, mean and high, Pa.

    Nine in ten of the shapes that fit, weighed by how well, lie between low and high.
    """
    fits = _drawn(readings, ambient_c, gauge_resolution_pa, gauge_noise_fraction)
    found = []
    for minute in at_minutes:
        pressures = fits.pressure(float(minute))
        mean = float(fits.mean(pressures))
        low, high = (decay_causes.quantile(pressures, fits.chance, share) for share in (0.05, 0.95))
        found.append((mean if low is None else low, mean, mean if high is None else high))
    return found


def _drawn(
    readings: Sequence[VacuumReading], ambient_c: float | None, resolution: float, noise: float
) -> Fits:
    """The shapes that a curve is drawn from."""
    _check(Hold(tuple(readings), COMMON_PRACTICE, None, ambient_c), resolution, noise)
    if len(readings) < 3:
        raise TradeError(f"a curve needs at least three readings, not {len(readings)}")
    return _fit(_seen(readings, (noise, resolution)), ambient_c)


@dataclass(frozen=True)
class _Seen:
    """The readings that count, as arrays: minutes, Pa and standard errors in Pa."""

    times: Floats
    pressures: Floats
    sigmas: Floats
    outliers: tuple[int, ...]


def _judge(hold: Hold, noise: tuple[float, float]) -> DecayVerdict:
    if len(hold.readings) < 3:
        return decay_no_hold.too_few(hold)
    pipe = None if hold.ambient_c is None else water.vapour_pressure_pa(
        hold.ambient_c + KELVIN_AT_0_C)
    pegged = at_top([r.pressure_pa for r in hold.readings], pipe)
    if len(hold.readings) - pegged < 3 and pegged:
        return decay_no_hold.at_top(hold, pegged)
    seen = _seen(hold.readings[: len(hold.readings) - pegged], noise)
    if _falls(seen):
        return decay_no_hold.falling(hold, seen.outliers)
    fits = _fit(seen, hold.ambient_c)
    cause = decay_causes.cause_of_draws(fits, hold.limits)
    if fits.mean((cause == decay_causes.STANDS).astype(np.float64)) > 0.5:
        return decay_no_hold.stands_above(hold, seen.outliers)
    return _conclude(hold, fits, cause, seen, noise, pegged)


def _seen(readings: Sequence[VacuumReading], noise: tuple[float, float]) -> _Seen:
    times = np.array([r.minutes for r in readings], dtype=np.float64)
    pressures = np.array([r.pressure_pa for r in readings], dtype=np.float64)
    shown = seen_steps_pa([r.pressure_pa for r in readings])
    steps = np.array([r.step_pa or step for r, step in zip(readings, shown, strict=True)])
    # a step is a rectangular error: its standard deviation is the step over root 12
    sigmas = np.hypot(noise[0] * pressures + noise[1], steps / 12**0.5)
    outliers = find_outliers(times, pressures, sigmas)
    keep = np.array([i not in outliers for i in range(len(times))])
    return _Seen(times[keep], pressures[keep], sigmas[keep], outliers)


def _fit(seen: _Seen, ambient_c: float | None) -> Fits:
    """All shapes, with levels no higher than water at the pipe unless that misses the end.

    A rise that does level off above water's pressure (a wrong ambient, refrigerant leaving oil) is
    then still read as levelling, and the reason says that water alone does not explain it.
    """
    record = Record(seen.times, seen.pressures, seen.sigmas, decay_causes.ceiling_pa(ambient_c),
                    decay_causes.water_pa(ambient_c))
    fits = fit_shapes(record)
    missed = abs(fits.mean(fits.pressure(float(seen.times[-1]))) - float(seen.pressures[-1]))
    if missed < MISSED * float(seen.sigmas[-1]):
        return fits
    return fit_shapes(replace(record, ceiling_pa=float("inf")))


def _falls(seen: _Seen) -> bool:
    """Whether the pressure falls after equalising: then the system is not isolated."""
    settled = seen.times >= SETTLED_MIN
    if settled.sum() < 3:
        return False
    t, p, weight = seen.times[settled], seen.pressures[settled], 1.0 / seen.sigmas[settled] ** 2
    middle = float((weight * t).sum() / weight.sum())
    spread = float((weight * (t - middle) ** 2).sum())
    slope = float((weight * (t - middle) * p).sum()) / spread
    fall = -slope * float(t[-1] - t[0])
    return slope * spread**0.5 < -4.0 and fall > 0.1 * float(p[0])


def _conclude(
    hold: Hold, fits: Fits, cause: Floats, seen: _Seen, noise: tuple[float, float], pegged: int
) -> DecayVerdict:
    masks = [(cause == i).astype(np.float64) for i in range(len(CAUSES))]
    chances = tuple(fits.mean(mask) for mask in masks)
    best, last_min = int(np.argmax(chances)), float(seen.times[-1])
    minutes = hold.limits.hold_minutes
    held = last_min >= minutes - 1e-9  # by a reading that counts
    sure = chances[best] >= hold.limits.sure_at and (held or best != 0)
    more = None if sure else decay_causes.minutes_more(fits, cause, last_min, minutes, noise)
    found = decay_words.Findings(
        verdict=CAUSES[best] if sure else Verdict.NOT_YET_CLEAR,
        likeliest=CAUSES[best], chances=chances,
        model=NAMES[int(np.argmax(fits.shape_chances))],
        rise_rate=fits.mean(fits.slope(last_min)), final_pa=fits.mean(fits.pressure(last_min)),
        plateau=decay_causes.plateau(fits, minutes),
        steady=fits.mean(fits.rate, masks[best] if best else None),
        steady_share=decay_causes.steady_share(fits, minutes),
        missed_rate=decay_causes.missed_rate(fits), minutes_more=more, outliers=seen.outliers,
        pegged=pegged,
    )
    return decay_words.put(found, hold)


def _check(hold: Hold, resolution: float, noise: float) -> None:
    for index, reading in enumerate(hold.readings):
        where = f"pressure of reading {index + 1}"
        require_positive(where, reading.pressure_pa, "Pa")
        require_between(where, reading.pressure_pa, 0.0, 1.1 * PA_PER_ATM, "Pa")
        require_between(f"time of reading {index + 1}", reading.minutes, 0.0, 1e5, "minutes")
        before = hold.readings[index - 1].minutes if index else -1.0
        if reading.minutes <= before:
            raise TradeError(
                f"time of reading {index + 1} is {counted(f'{reading.minutes:g}', 'minute')}, "
                f"not after the one before ({before:g}): times must grow; drop or correct one"
            )
    limits = hold.limits
    require_positive("limit", limits.pass_below_pa, "Pa")
    require_positive("hold", limits.hold_minutes, "minutes")
    require_between("sure_at", limits.sure_at, 0.5, 0.999)
    require_between("gauge resolution", resolution, PA_PER_MICRON * 0.01, PA_PER_ATM, "Pa")
    require_between("gauge noise fraction", noise, 0.0, 0.5)
    if hold.volume_m3 is not None:
        require_positive("system volume", hold.volume_m3, "m3")
    if hold.ambient_c is not None:
        require_between("ambient temperature", hold.ambient_c, -60.0, 70.0, "C")
    for index, reading in enumerate(hold.readings):
        why = reading.step_pa and unfit_for_hold(reading.step_pa, limits.pass_below_pa)
        if why:
            raise TradeError(f"reading {index + 1} cannot be held against the limit: {why}")
