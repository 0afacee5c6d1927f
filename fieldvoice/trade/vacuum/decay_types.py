"""What goes into and comes out of a standing-vacuum (decay) test."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from enum import StrEnum
from typing import Any

from fieldvoice.quantity.constants import from_microns


class Verdict(StrEnum):
    """What a decay test says of the system."""

    TIGHT = "tight"
    WET = "wet"
    LEAKING = "leaking"
    NOT_YET_CLEAR = "not-yet-clear"


@dataclass(frozen=True)
class VacuumReading:
    """One gauge reading: minutes since isolation, absolute pressure in Pa."""

    minutes: float
    pressure_pa: float
    step_pa: float | None = None  # least difference that the gauge, or the unit as said, can show


@dataclass(frozen=True)
class DecayLimits:
    """A criterion in force: pressure not to be exceeded at the end of a hold, and who says so."""

    name: str
    pass_below_pa: float
    hold_minutes: float
    source: str
    sure_at: float = 0.90  # a verdict is given only when at least this probable

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return asdict(self)


def _limits(name: str, limit_microns: float, hold_minutes: float, source: str) -> DecayLimits:
    return DecayLimits(name, from_microns(limit_microns), hold_minutes, source)


GUIDE = "published installation guide"
COMMON_PRACTICE = _limits(
    "500 microns, 10 minutes", 500, 10, "common practice (equipment instructions differ)"
)
LIMITS: dict[str, DecayLimits] = {
    limits.name: limits
    for limits in (
        COMMON_PRACTICE,
        # Lennox SPBH4 p. 20 and XC17 p. 18
        _limits("500 microns, 20 minutes", 500, 20, GUIDE),
        _limits("700 microns, 15 minutes", 700, 15, GUIDE),  # Data Aire DAFC-11 section 2.7
        _limits("500 microns, 1 hour", 500, 60, "UFGS 15182 section 3.3.3"),
    )
}


@dataclass(frozen=True)
class Hold:
    """What a decay test is asked of: its readings and what is known of the system."""

    readings: tuple[VacuumReading, ...]
    limits: DecayLimits
    volume_m3: float | None = None
    ambient_c: float | None = None  # of the pipe
    refrigerant: str | None = None


@dataclass(frozen=True)
class DecayVerdict:
    """The verdict with everything it rests on; pressures in Pa, times in minutes."""

    verdict: Verdict
    confidence: float  # probability of the verdict; of the likeliest one when not yet clear
    chances: tuple[tuple[Verdict, float], ...]  # tight, wet, leaking
    model: str  # the likeliest shape, one of decay_shapes.NAMES
    fitted_rise_pa_per_min: float  # of the curve at the last reading
    fitted_final_pa: float  # of the curve at the last reading, not what was read
    plateau_pa: float | None  # level that a saturating rise is heading for
    water_temperature_c: float | None  # of water with that pressure, if the pipe may be so cold
    water_phase: str | None  # "ice" or "liquid"
    leak_rate_pa_m3_per_s: float | None  # steady part times volume; None without volume or leak
    leak_rate_micron_l_per_s: float | None
    missed_leak_pa_m3_per_s: float | None  # leak that a hold called tight may hide
    missed_leak_kg_per_year: float | None  # the same, molecule for molecule, in refrigerant
    minutes_more: float | None  # further minutes likely to settle it; None when settled
    outliers: tuple[int, ...]  # places in `readings`, from 0, that were set aside
    reason: str
    next_action: str
    readings: tuple[VacuumReading, ...]
    limits: DecayLimits
    volume_m3: float | None
    ambient_c: float | None
    refrigerant: str | None = None
    stands_above: float = 0.0  # probability left: above the limit, but hardly rising
    gauge_resolution_pa: float = from_microns(5)
    gauge_noise_fraction: float = 0.01
    source: str = (
        "shapes of rise: leak-testing pressure-increase method and rate-of-rise practice "
        "(steady = leak, levelling = moisture or outgassing); weighed by marginal likelihood"
    )

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        plain = asdict(self)
        plain["verdict"] = self.verdict.value
        plain["chances"] = {verdict.value: chance for verdict, chance in self.chances}
        stands = plain.pop("stands_above")
        if stands > 0.0:
            plain["chances"]["not-low-enough"] = stands
        return plain
