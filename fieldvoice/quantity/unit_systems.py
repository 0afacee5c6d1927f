"""Values in the units that a reader thinks in: metric ones, or those of the United States."""

from __future__ import annotations

from collections.abc import Mapping

from fieldvoice.quantity.convert import from_si
from fieldvoice.quantity.errors import ReadingError
from fieldvoice.quantity.site import STANDARD, Site
from fieldvoice.quantity.units import UNITS, counted_in, say

METRIC, US = "metric", "us"
SYSTEMS = (METRIC, US)
# unit as said -> the unit of the other system that stands beside it
_IN_METRIC = {
    "microns": "Pa", "torr": "Pa", "mmHg": "Pa", "inHg": "kPa", "inHg-vacuum": "kPa",
    "psig": "kPa-gauge", "psia": "kPa", "degF": "degC", "delta-degF": "delta-K",
    "inH2O": "delta-Pa", "ft": "m", "in": "mm", "oz": "kg", "lb": "kg", "cfm": "L/s",
    "ft3": "L", "in3": "mL", "gal": "L", "ft-lb": "N-m",
}  # fmt: skip
_IN_US = {
    "Pa": "microns", "kPa": "psia", "MPa": "psia", "mbar": "microns", "bar": "psia",
    "kPa-gauge": "psig", "MPa-gauge": "psig", "mbar-gauge": "psig", "bar-gauge": "psig",
    "degC": "degF", "K": "degF", "delta-degC": "delta-degF", "delta-K": "delta-degF",
    "delta-Pa": "inH2O", "m": "ft", "cm": "in", "mm": "in", "g": "oz", "kg": "lb",
    "L/s": "cfm", "m3/h": "cfm", "N-m": "ft-lb",
}  # fmt: skip
_OTHER: Mapping[str, Mapping[str, str]] = {METRIC: _IN_METRIC, US: _IN_US}


def system_of(facts: Mapping[str, str]) -> str:
    """The system that a site works in, by what its degrees are."""
    return METRIC if facts.get("temperature-unit") == "degC" else US


def beside(si: float, unit: str, system: str, site: Site = STANDARD) -> str:
    """An SI value in the system's own unit, to three digits, when `unit` is of the other system.

    "" where the unit belongs to that system already, or to both.
    """
    other = _OTHER[system].get(counted_in(unit))
    if other is None:
        return ""
    try:
        value = from_si(si, other, site.atmosphere_pa)
    except ReadingError:
        return ""
    return say(float(f"{value:.3g}"), other) if UNITS[other].dimension != "temperature" else say(
        round(value, 1), other)
