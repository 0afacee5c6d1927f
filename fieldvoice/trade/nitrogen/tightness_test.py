"""The nitrogen tightness test: verdict of a hold, smallest leak seen, staged pressures."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass, replace
from enum import StrEnum
from statistics import NormalDist
from typing import Any

from fieldvoice.quantity.constants import PA_PER_ATM, PA_PER_PSI, psig
from fieldvoice.quantity.counted import counted
from fieldvoice.trade.degrees import FAHRENHEIT, temperature
from fieldvoice.trade.errors import TradeError, require_between, require_positive
from fieldvoice.trade.nitrogen.real_gas import SOURCE, Expected, expected_pressure
from fieldvoice.trade.nitrogen.smallest_leak import SmallestLeak, smallest_leak

CAUTION = (
    "Dry nitrogen only, never oxygen or air: regulator with relief valve, glasses and gloves, "
    "never above the lowest design pressure on the nameplates."
)
THERMOMETER_K = 1.0 / 1.8  # pipe and thermometer agree within 1 F either way (common practice)
FORGIVEN = 0.99  # share of tight systems whose apparent loss is forgiven (common practice)
SEEN = 0.95  # of the smallest leak: how often such a leak shows (common practice)
# Trane 5TTR5018 section 8.1: a gauge that shows 5 % of the test pressure, for 60 minutes
COARSEST_GAUGE = 0.05
_HAIR = 1e-3  # of a gauge step: what rounding of the computation may do


class Holding(StrEnum):
    """What the nitrogen test says."""

    HOLDS = "holds"
    LOSING = "losing pressure"
    GAINING = "gaining pressure"
    NOT_YET_CLEAR = "not-yet-clear"


@dataclass(frozen=True)
class NitrogenVerdict:
    """The verdict with what it rests on; absolute Pa, K, minutes."""

    verdict: Holding
    expected: Expected
    measured_pa: float
    deviation_pa: float  # measured less expected (real gas)
    uncertainty_pa: float  # standard uncertainty of the deviation, by gauge and thermometer
    tolerance_pa: float  # a loss of this or more fails
    forgiven: float  # share of tight systems spared by the tolerance; 0: no loss is forgiven
    smallest_leak_pa_per_hour: float  # shows 95 times in 100 in a hold of this length
    smallest_leak: SmallestLeak | None  # the same for the system volume
    minutes: float
    minutes_more: float | None  # whole minutes
    reason: str
    next_action: str
    volume_m3: float | None
    gauge_resolution_pa: float
    thermometer_k: float  # error of each temperature, either way
    hold_minutes: float  # hold in force
    caution: str = CAUTION
    source: str = SOURCE

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return {**asdict(self), "verdict": self.verdict.value}


@dataclass(frozen=True)
class Stage:
    """One stage of pressurizing: gauge pressure in Pa, minutes to wait, what to do, and why so."""

    gauge_pa: float
    minutes: float
    action: str
    source: str


def judge_nitrogen(
    start_pa: float, start_k: float, end_pa: float, end_k: float, minutes: float, *,
    volume_m3: float | None = None, gauge_resolution_pa: float = PA_PER_PSI,
    thermometer_k: float = THERMOMETER_K, hold_minutes: float = 60.0, forgiven: float = FORGIVEN,
    atmosphere_pa: float = PA_PER_ATM, refrigerant: str | None = None,
    degrees: str = FAHRENHEIT,
) -> NitrogenVerdict:
    """Judge a hold from start and end (absolute Pa, K) and its length in minutes.

    A loss fails that gauge and thermometer bring about by themselves in fewer than 1 - `forgiven`
    of tight systems, and that is a step of the gauge or more. With `forgiven` 0 the published
    criterion counts: no loss, so that any step fails. `hold_minutes` is the hold in force: 60
    minutes without loss is Trane 5TTR5018 section 8.1, others ask for 15 minutes to 24 hours. The
    words give `degrees` and gauge pressures above `atmosphere_pa`; `refrigerant` is what the
    smallest leak is also given as. Raises TradeError on impossible values, and for a gauge coarser
    than 5 % of the test pressure (the same section).
    """
    require_between("end pressure (absolute)", end_pa, 1.0, 7.0e6, "Pa")
    require_positive("hold", minutes, "minutes")
    require_positive("hold in force", hold_minutes, "minutes")
    require_between("forgiven share", forgiven, 0.0, 0.9999)
    require_between("thermometer error", thermometer_k, 0.0, 10.0, "K")
    require_between("atmosphere", atmosphere_pa, 15_000.0, 1.1 * PA_PER_ATM, "Pa")
    expected = expected_pressure(start_pa, start_k, end_k)
    step, gauge_pa = gauge_resolution_pa, start_pa - atmosphere_pa
    check_gauge(gauge_pa, step)
    doubt = standard_uncertainty_pa(expected, step, thermometer_k)
    tolerance = max(doubt * NormalDist().inv_cdf((1.0 + forgiven) / 2.0), step)
    smallest = tolerance + doubt * NormalDist().inv_cdf(SEEN)
    deviation = end_pa - expected.real_pa
    needed = _minutes_needed(-deviation / step, tolerance / step, hold_minutes,
                             tolerance / gauge_pa)
    more = float(math.ceil(needed - minutes - 1e-6))
    verdict = _verdict(deviation / step, tolerance / step, more <= 0.0)
    leak = None if volume_m3 is None else smallest_leak(
        smallest, minutes * 60.0, volume_m3, start_pa, start_k, refrigerant)
    found = NitrogenVerdict(
        verdict, expected, end_pa, deviation, doubt, tolerance, forgiven, smallest / minutes * 60.0,
        leak, minutes, more if verdict is Holding.NOT_YET_CLEAR else None, "",
        _action(verdict, more), volume_m3, step, thermometer_k, hold_minutes,
    )
    return replace(found, reason=_reason(found, atmosphere_pa, degrees))


def standard_uncertainty_pa(
    expected: Expected, gauge_resolution_pa: float, thermometer_k: float
) -> float:
    """Standard uncertainty of measured less expected pressure, Pa.

    Each of the two gauge readings lies anywhere in its step, step / root 12; each temperature
    anywhere within the thermometer's error either way, error / root 3 (rectangular distributions,
    JCGM 100:2008 section 4.3.7, from memory). What is read at the start counts by how it moves the
    expected pressure.
    """
    by_start = math.hypot(1.0, expected.real_pa / expected.start_pa)
    by_warmth = expected.real_pa * math.hypot(1.0 / expected.start_k, 1.0 / expected.end_k)
    return math.hypot(gauge_resolution_pa / math.sqrt(12.0) * by_start,
                      thermometer_k / math.sqrt(3.0) * by_warmth)


def staged_pressures(design_gauge_pa: float) -> tuple[Stage, ...]:
    """Stages up to the lowest design pressure on the nameplates (gauge, Pa), never above it.

    Raises TradeError below 100 psig or above 900 psig: read the plate again.
    """
    require_between(
        "design pressure", design_gauge_pa / PA_PER_PSI, 100.0, 900.0, "psig"
    )
    first, half = 150.0 * PA_PER_PSI, 0.5 * design_gauge_pa
    # 150 psig, then the design pressure for 60 minutes: Trane 5TTR5018 section 8.1; five minutes at
    # a stage: Toshiba RAV-GP561ATW-E p. 17
    why = "150 psig first: published installation guide" if half >= 0.999 * first else (
        "half of a low design pressure first: common practice")
    stages = [Stage(min(first, half), 5.0, "Wait and listen, then bubbles on every joint.",
                    f"{why}; wait: published installation guide")]
    if half > 1.2 * first:  # a nearer stage would show nothing new
        stages.append(Stage(half, 5.0, "Wait and watch the gauge.",
                            "half-way stage: common practice"))
    stages.append(Stage(design_gauge_pa, 60.0,
                        "Close the cylinder, note pressure and temperature, and hold.",
                        "design pressure, at least 60 minutes: published installation guide"))
    return tuple(stages)


def check_gauge(test_gauge_pa: float, resolution_pa: float) -> None:
    """Raise TradeError when the gauge is too coarse: over 5 % of the test pressure (Trane 8.1)."""
    require_positive("test pressure (above the atmosphere)", test_gauge_pa, "Pa")
    require_positive("gauge resolution", resolution_pa, "Pa")
    if resolution_pa > COARSEST_GAUGE * test_gauge_pa:
        raise TradeError(
            f"gauge resolution is {resolution_pa / PA_PER_PSI:.3g} psi, over 5 % of the test "
            f"pressure {test_gauge_pa / PA_PER_PSI:.0f} psig: use a finer gauge"
        )


def _minutes_needed(lost: float, tolerance: float, hold: float, tolerance_share: float) -> float:
    """The hold that proves something; `lost` and `tolerance` in steps of the gauge.

    A gauge that shows 5 % of the test pressure in 60 minutes is the coarsest that a document
    allows: whoever sees less an hour holds on. A step or more that is lost and yet forgiven might
    be a leak: it would be past the tolerance in a hold as many times as long.
    """
    by_gauge = 60.0 * tolerance_share / COARSEST_GAUGE
    return max(hold * tolerance if lost >= 1.0 - _HAIR else hold, by_gauge)


def _verdict(deviation: float, tolerance: float, long_enough: bool) -> Holding:
    """Deviation and tolerance in steps of the gauge."""
    if deviation <= -tolerance + _HAIR:
        return Holding.LOSING
    if deviation >= tolerance + _HAIR:
        return Holding.GAINING
    return Holding.HOLDS if long_enough else Holding.NOT_YET_CLEAR


def _reason(found: NitrogenVerdict, atmosphere_pa: float, degrees: str) -> str:
    """What was expected and read, what explains it, and what leak could have been missed."""
    wanted = psig(found.expected.real_pa, atmosphere_pa)
    read = psig(found.measured_pa, atmosphere_pa)
    warmth = temperature(found.expected.end_k, degrees)
    off = found.deviation_pa / PA_PER_PSI
    change = f"{abs(off):.1f} psi {'gained' if off > 0 else 'lost'}"
    spared = found.tolerance_pa / PA_PER_PSI
    why = (f"less than {spared:.1f} may be gauge and thermometer" if found.forgiven
           else f"a loss of {spared:.1f} or more fails")
    seen = f"Expected {wanted:.1f} psig at {warmth}, read {read:.1f}: {change}; {why}."
    if found.verdict in (Holding.LOSING, Holding.GAINING):
        return seen
    return f"{seen} {_missed(found)}"


def _missed(found: NitrogenVerdict) -> str:
    """The leak that passes one time in twenty, as mass a year where the volume is known."""
    rate = _two_digits(found.smallest_leak_pa_per_hour / PA_PER_PSI)
    leak, volume = found.smallest_leak, found.volume_m3
    if leak is None or volume is None:
        return (f"A leak under {rate} psi an hour may not show; its mass a year follows from "
                "the system volume.")
    mass = f"{_mass(leak.nitrogen_kg_per_year)} of nitrogen a year"
    if leak.refrigerant_kg_per_year is not None:
        mass += (f", {_mass(leak.refrigerant_kg_per_year)} of {leak.refrigerant} if as many moles "
                 "a second escape")
    return (f"A leak under {rate} psi an hour may not show: from "
            f"{_two_digits(volume * 1e3)} L, {mass}.")


def _mass(kilograms: float) -> str:
    return (f"{_two_digits(kilograms)} kg" if kilograms >= 0.995 else
            f"{_two_digits(kilograms * 1e3)} g")


def _two_digits(value: float) -> str:
    return f"{float(f'{value:.2g}'):,g}"


def _action(verdict: Holding, more: float) -> str:
    return {
        Holding.LOSING: "Search with bubbles at every joint; release the nitrogen before brazing.",
        Holding.GAINING: "Check that the cylinder valve is shut and that the pipe is at the "
        "temperature you read, then start the hold again.",
        Holding.HOLDS: "It holds within what this gauge can see. Release the nitrogen, then "
        "evacuate.",
        Holding.NOT_YET_CLEAR: f"Nothing is proved yet: hold "
        f"{counted(f'{more:.0f}', 'minute')} more.",
    }[verdict]
