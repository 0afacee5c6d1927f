"""The nitrogen tightness test: expected pressure, verdict, smallest leak seen, staged pressures."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from enum import StrEnum
from typing import Any

from fieldvoice.quantity.constants import PA_PER_ATM, PA_PER_PSI, k_to_f, psig
from fieldvoice.trade.errors import TradeError, require_between, require_positive
from fieldvoice.trade.vacuum.conductance import GAS_CONSTANT

CAUTION = (
    "Dry nitrogen only, never oxygen or air: regulator with relief valve, glasses and gloves, "
    "never above the lowest design pressure on the nameplates."
)
SOURCE = "gas law at constant volume, absolute: p2 = p1 T2 / T1; real gas by two virial terms"
COLDEST_K, HOTTEST_K = 233.15, 343.15
# Second and third virial coefficients of nitrogen, from CoolProp 8.0.0 (Span et al. 2000)
_VIRIAL_K0, _VIRIAL_STEP_K = 230.0, 20.0
_B_CM3_PER_MOL = (-22.956, -16.440, -11.058, -6.545, -2.713, 0.576, 3.426)
_C_CM6_PER_MOL2 = (1677.5, 1571.3, 1492.8, 1434.1, 1389.4, 1354.9, 1327.8)


class Holding(StrEnum):
    """What the nitrogen test says."""

    HOLDS = "holds"
    LOSING = "losing pressure"
    GAINING = "gaining pressure"
    NOT_YET_CLEAR = "not-yet-clear"


@dataclass(frozen=True)
class Expected:
    """Pressure expected at a new temperature, Pa absolute: ideal gas, and nitrogen as it is."""

    start_pa: float
    start_k: float
    end_k: float
    ideal_pa: float
    real_pa: float
    source: str = SOURCE

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return asdict(self)


@dataclass(frozen=True)
class NitrogenVerdict:
    """The verdict with what it rests on; absolute Pa, K, minutes."""

    verdict: Holding
    expected: Expected
    measured_pa: float
    deviation_pa: float  # measured less expected (real gas)
    uncertainty_pa: float  # what gauge and thermometer cannot tell apart (about 95 %)
    smallest_leak_pa_per_hour: float  # the least loss that this hold could have shown
    smallest_leak_pa_m3_per_s: float | None  # the same for the system volume
    minutes: float
    minutes_more: float | None
    reason: str
    next_action: str
    volume_m3: float | None
    gauge_resolution_pa: float
    thermometer_k: float
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


def expected_pressure(start_pa: float, start_k: float, end_k: float) -> Expected:
    """Pressure in a closed system after its temperature changed; absolute Pa and K.

    Raises TradeError for pressures under 60 kPa or above 7 MPa, and temperatures outside
    -40 to 158 F.
    """
    require_between("start pressure (absolute)", start_pa, 60_000.0, 7.0e6, "Pa")
    for name, value in (("start temperature", start_k), ("end temperature", end_k)):
        require_between(name, value, COLDEST_K, HOTTEST_K, "K")
    ideal = start_pa * end_k / start_k
    density = _density(start_pa, start_k)
    return Expected(start_pa, start_k, end_k, ideal, _pressure(density, end_k))


def judge_nitrogen(
    start_pa: float, start_k: float, end_pa: float, end_k: float, minutes: float, *,
    volume_m3: float | None = None, gauge_resolution_pa: float = PA_PER_PSI,
    thermometer_k: float = 0.5, hold_minutes: float = 60.0, atmosphere_pa: float = PA_PER_ATM,
) -> NitrogenVerdict:
    """Judge a hold from start and end (absolute Pa, K) and its length in minutes.

    The uncertainty joins two readings of gauge and thermometer (each taken as a standard error):
    twice the root of the sum of squares. `hold_minutes` is the hold in force; 60 minutes without
    loss is Trane 5TTR5018 section 8.1, others ask for 15 minutes to 24 hours. The words give
    gauge pressures above `atmosphere_pa`. Raises TradeError on impossible values, and for a gauge
    coarser than 5 % of the test pressure (the same section).
    """
    require_between("end pressure (absolute)", end_pa, 1.0, 7.0e6, "Pa")
    require_positive("hold", minutes, "minutes")
    require_positive("hold in force", hold_minutes, "minutes")
    require_positive("gauge resolution", gauge_resolution_pa, "Pa")
    require_between("thermometer error", thermometer_k, 0.0, 10.0, "K")
    if volume_m3 is not None:
        require_positive("system volume", volume_m3, "m3")
    require_between("atmosphere", atmosphere_pa, 15_000.0, 1.1 * PA_PER_ATM, "Pa")
    expected = expected_pressure(start_pa, start_k, end_k)
    check_gauge(start_pa - atmosphere_pa, gauge_resolution_pa)
    by_heat = expected.real_pa / end_k * thermometer_k
    spread = 2.0 * math.sqrt(2.0) * math.hypot(gauge_resolution_pa, by_heat)
    deviation = end_pa - expected.real_pa
    verdict = _verdict(deviation, spread, minutes, hold_minutes)
    more = hold_minutes - minutes if verdict is Holding.NOT_YET_CLEAR else None
    flow = None if volume_m3 is None else spread / (minutes * 60.0) * volume_m3
    reason, action = _words(verdict, expected, end_pa, spread, more, atmosphere_pa)
    return NitrogenVerdict(
        verdict, expected, end_pa, deviation, spread, spread / minutes * 60.0, flow, minutes, more,
        reason, action, volume_m3, gauge_resolution_pa, thermometer_k, hold_minutes,
    )


def staged_pressures(design_gauge_pa: float) -> tuple[Stage, ...]:
    """Stages up to the lowest design pressure on the nameplates (gauge, Pa), never above it.

    Raises TradeError below 100 psig or above 900 psig: read the plate again.
    """
    require_between(
        "design pressure", design_gauge_pa / PA_PER_PSI, 100.0, 900.0, "psig"
    )
    first, half = 150.0 * PA_PER_PSI, 0.5 * design_gauge_pa
    why = "150 psig first: Trane 5TTR5018 section 8.1" if half >= 0.999 * first else (
        "half of a low design pressure first: common practice")
    stages = [Stage(min(first, half), 5.0, "Wait and listen, then bubbles on every joint.",
                    f"{why}; wait: Toshiba RAV-GP561 p. 17")]
    if half > 1.2 * first:  # a nearer stage would show nothing new
        stages.append(Stage(half, 5.0, "Wait and watch the gauge.",
                            "half-way stage: common practice"))
    stages.append(Stage(design_gauge_pa, 60.0,
                        "Close the cylinder, note pressure and temperature, and hold.",
                        "design pressure, at least 60 minutes: Trane 5TTR5018 section 8.1"))
    return tuple(stages)


def check_gauge(test_gauge_pa: float, resolution_pa: float) -> None:
    """Raise TradeError when the gauge is too coarse: over 5 % of the test pressure (Trane 8.1)."""
    require_positive("test pressure (above the atmosphere)", test_gauge_pa, "Pa")
    require_positive("gauge resolution", resolution_pa, "Pa")
    if resolution_pa > 0.05 * test_gauge_pa:
        raise TradeError(
            f"gauge resolution is {resolution_pa / PA_PER_PSI:.3g} psi, over 5 % of the test "
            f"pressure {test_gauge_pa / PA_PER_PSI:.0f} psig: use a finer gauge"
        )


def _verdict(deviation: float, spread: float, minutes: float, hold: float) -> Holding:
    if deviation < -spread:
        return Holding.LOSING
    if deviation > spread:
        return Holding.GAINING
    return Holding.HOLDS if minutes >= hold - 1e-9 else Holding.NOT_YET_CLEAR


def _words(
    verdict: Holding, expected: Expected, end_pa: float, spread: float, more: float | None,
    atmosphere_pa: float,
) -> tuple[str, str]:
    deviation = end_pa - expected.real_pa
    wanted, read = psig(expected.real_pa, atmosphere_pa), psig(end_pa, atmosphere_pa)
    seen = (f"Expected {wanted:.1f} psig at {k_to_f(expected.end_k):.0f} °F, read {read:.1f}; "
            f"gauge and thermometer cannot tell {spread / PA_PER_PSI:.1f} psi apart.")
    if verdict is Holding.LOSING:
        return (f"{seen} It lost {-deviation / PA_PER_PSI:.1f} psi.",
                "Search with bubbles at every joint; release the nitrogen before brazing.")
    if verdict is Holding.GAINING:
        return (f"{seen} It gained {deviation / PA_PER_PSI:.1f} psi.",
                "Check that the cylinder valve is shut and that the pipe is at the temperature "
                "you read, then start the hold again.")
    if verdict is Holding.HOLDS:
        return seen, "It holds within what this gauge can see. Release the nitrogen, then evacuate."
    return seen, f"No loss seen so far. Hold {more:.0f} minutes more."


def _coefficient(kelvin: float, values: tuple[float, ...]) -> float:
    step = (kelvin - _VIRIAL_K0) / _VIRIAL_STEP_K
    low = min(int(step), len(values) - 2)
    return values[low] + (step - low) * (values[low + 1] - values[low])


def _pressure(density: float, kelvin: float) -> float:
    """Pa at a molar density, mol/m3."""
    b = _coefficient(kelvin, _B_CM3_PER_MOL) * 1e-6
    c = _coefficient(kelvin, _C_CM6_PER_MOL2) * 1e-12
    return density * GAS_CONSTANT * kelvin * (1.0 + b * density + c * density**2)


def _density(pressure_pa: float, kelvin: float) -> float:
    """Molar density, mol/m3, by fixed-point iteration (Z is within 3 % of one here)."""
    density = pressure_pa / (GAS_CONSTANT * kelvin)
    for _ in range(20):
        density *= pressure_pa / _pressure(density, kelvin)
    return density

