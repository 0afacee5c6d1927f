"""A measured superheat or subcooling against its target, and the superheat a valve keeps."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from fieldvoice.trade.degrees import FAHRENHEIT, difference, figure
from fieldvoice.trade.errors import require_between, require_finite

FLOOR_F = 5.0  # Lennox 14ACX manual p. 26: never below 5 F, or liquid may reach the compressor
HIGHEST_TARGET_F = 60.0  # no chart asks for more (common practice)
SUPERHEAT_BAND_F = 5.0  # California Energy Commission 2008 RA3 p. 14: installer within 5 F
SUBCOOLING_BAND_F = 3.0  # RA3 p. 15: short of the target by 3 F or more fails
VALVE_HIGH_F = 25.0  # RA3 p. 15: the maker's range, else 4 to 25 F; the floor is stricter than 4
SOURCE = "California Energy Commission 2008 Residential Appendix RA3 pp. 14-15"
WITH_FLOOR = f"{SOURCE}; never below 5 F: published installation guide"


@dataclass(frozen=True)
class ChargeCheck:
    """A measured superheat or subcooling against its target, in Fahrenheit degrees."""

    kind: str
    measured_f: float
    target_f: float | None  # None: a range alone
    low_f: float
    high_f: float
    verdict: str  # "on-target", "high" or "low"
    reason: str
    next_action: str
    source: str

    @property
    def within(self) -> bool:
        """Whether the charge may be left as it is."""
        return self.verdict == "on-target"

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return {**asdict(self), "within": self.within}


def check_superheat(
    measured_f: float, target_f: float, *, degrees: str = FAHRENHEIT
) -> ChargeCheck:
    """Compare the superheat of a fixed orifice with its target (both F degrees).

    The words give `degrees` ("degF" or "degC").
    Within 5 F and never below 5 F; settle 15 minutes first. Raises TradeError for a target below
    the floor: no chart gives one.
    """
    require_between("target superheat", target_f, FLOOR_F, HIGHEST_TARGET_F, "F")
    require_finite("superheat", measured_f, "F")
    low, high = max(target_f - SUPERHEAT_BAND_F, FLOOR_F), target_f + SUPERHEAT_BAND_F
    verdict = "low" if measured_f < low else "high" if measured_f > high else "on-target"
    floor = f", never below {_plain(FLOOR_F, degrees)}" if low == FLOOR_F else ""
    return ChargeCheck(
        "superheat", measured_f, target_f, low, high, verdict,
        f"Superheat is {difference(measured_f, degrees)}, "
        f"target {figure(target_f, degrees)}{floor}.",
        {"on-target": "Leave the charge.",
         "high": "High: after 15 steady minutes and with airflow right, add a little and wait.",
         "low": "Low: check airflow, then recover a little and wait; liquid can reach the "
         "compressor."}[verdict], WITH_FLOOR,
    )


def check_valve_superheat(measured_f: float, *, degrees: str = FAHRENHEIT) -> ChargeCheck:
    """Compare the superheat behind an expansion valve (F degrees) with what a valve keeps.

    The equipment's own range governs. What to do is common practice.
    """
    require_finite("superheat", measured_f, "F")
    verdict = ("low" if measured_f < FLOOR_F else
               "high" if measured_f > VALVE_HIGH_F else "on-target")
    return ChargeCheck(
        "superheat", measured_f, None, FLOOR_F, VALVE_HIGH_F, verdict,
        f"Superheat is {difference(measured_f, degrees)}; an expansion valve keeps "
        f"{_plain(FLOOR_F, degrees)} to {_plain(VALVE_HIGH_F, degrees)}.",
        {"on-target": "Leave the valve.",
         "high": "High: the coil starves. Look for flash gas, a blocked strainer or a lost bulb "
         "charge; the subcooling says whether charge is short.",
         "low": "Low: liquid can reach the compressor. Check airflow, then the valve's bulb; do "
         "not leave it so."}[verdict], WITH_FLOOR,
    )


def check_subcooling(
    measured_f: float, target_f: float, *, degrees: str = FAHRENHEIT
) -> ChargeCheck:
    """Compare a subcooling with the nameplate target (both F degrees), within 3 F."""
    require_between("target subcooling", target_f, 0.0, HIGHEST_TARGET_F, "F")
    off = require_finite("subcooling", measured_f, "F") - target_f
    verdict = ("low" if off <= -SUBCOOLING_BAND_F else
               "high" if off >= SUBCOOLING_BAND_F else "on-target")
    return ChargeCheck(
        "subcooling", measured_f, target_f, target_f - SUBCOOLING_BAND_F,
        target_f + SUBCOOLING_BAND_F, verdict,
        f"Subcooling is {difference(measured_f, degrees)}, "
        f"target {figure(target_f, degrees)}.",
        {"on-target": "Leave the charge.", "high": "High: recover a little and wait 15 minutes.",
         "low": "Low: after 15 steady minutes and with airflow right, add a little and wait."
         }[verdict], SOURCE,
    )


def _plain(difference_f: float, degrees: str) -> str:
    return figure(difference_f, degrees).removesuffix(".0")
