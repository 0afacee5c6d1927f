"""Values to SI and back; the only user of pint.

pint has no gauge pressures, and some of its names are traps (micron is a length, cfm is
centi-fermi): units.py names the expression that means what the trade means.
"""

from __future__ import annotations

from decimal import Decimal
from functools import cache
from typing import TYPE_CHECKING

from fieldvoice.quantity.constants import PA_PER_ATM
from fieldvoice.quantity.errors import ReadingError
from fieldvoice.quantity.units import (
    PRESSURE_SCALES,
    SHARED_WORDS,
    UNITS,
    Unit,
    counted_in,
)

if TYPE_CHECKING:
    import pint


def to_si(value: Decimal | float, unit: Unit | str, atmosphere_pa: float = PA_PER_ATM) -> float:
    """The value in the SI unit of units.SI_UNITS; every pressure as absolute Pa.

    Gauge and vacuum scales count from the atmosphere given. Raises ReadingError for a unit's name
    that is unknown or says too little ("psi", "pounds").
    """
    known = named(unit)
    factor, offset = _line(known)
    si = float(value) * factor + offset
    if known.zero == "gauge":
        return atmosphere_pa + si
    return atmosphere_pa - si if known.zero == "below" else si


def from_si(si: float, unit: Unit | str, atmosphere_pa: float = PA_PER_ATM) -> float:
    """The inverse of `to_si`: an SI value (absolute Pa, K, ...) in the unit named."""
    known = named(unit)
    factor, offset = _line(known)
    if known.zero == "gauge":
        si = si - atmosphere_pa
    elif known.zero == "below":
        si = atmosphere_pa - si
    return (si - offset) / factor


def one_in_si(unit: Unit | str) -> float:
    """What a difference of 1 of the unit is worth in SI, whatever its zero: 6,895 Pa for psig."""
    return _line(named(unit))[0]


def prepare() -> None:
    """Load the unit library now (about half a second), so that the first reading need not wait."""
    for unit in UNITS.values():
        _line(unit)


def named(unit: Unit | str) -> Unit:
    """The unit of a name; raises ReadingError where there is none, with those there are."""
    if isinstance(unit, Unit):
        return unit
    unit = counted_in(unit)
    if unit in UNITS:
        return UNITS[unit]
    if unit in PRESSURE_SCALES:
        raise ReadingError(f"{unit} says nothing of its zero: give {PRESSURE_SCALES[unit].write}")
    known = ", ".join(UNITS)
    if unit in SHARED_WORDS:
        raise ReadingError(f"{unit!r} means more than one unit: give one of {known}")
    raise ReadingError(f"unknown unit {unit!r}: give one of {known}")


@cache
def _line(unit: Unit) -> tuple[float, float]:
    """Factor and offset of a unit to SI, before any gauge zero: si = value * factor + offset."""
    at_0, at_1 = (
        _registry().Quantity(Decimal(n), unit.pint).to_base_units().magnitude for n in (0, 1)
    )
    return float(at_1 - at_0), float(at_0)


@cache
def _registry() -> pint.UnitRegistry[Decimal]:
    import pint  # slow to import and to build, so only when the first value needs converting

    return pint.UnitRegistry(non_int_type=Decimal, autoconvert_offset_to_baseunit=True)
