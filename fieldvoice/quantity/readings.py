"""Value + unit word + quantity -> a reading in SI, or the reason why not. The only pint user.

Gauge and vacuum-scale pressures become absolute with the site's atmospheric pressure. pint has no
gauge pressures, and some of its names are traps (micron is a length, cfm is centi-fermi): units.py
names the expression that means what the trade means.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import TYPE_CHECKING

from fieldvoice.quantity.plausible import why_surprising
from fieldvoice.quantity.quantities import Quantity, quantities, quantity, speakable
from fieldvoice.quantity.resolve_unit import Refused, default_unit, which_quantity, which_unit
from fieldvoice.quantity.site import STANDARD, ReadingError, Site, atmosphere_at
from fieldvoice.quantity.units import SI_UNITS, UNITS, WORD_UNITS, Unit, say, shown, unit_words

if TYPE_CHECKING:
    import pint

__all__ = [
    "Quantity", "ReadingError", "Refused", "Resolved", "Site", "atmosphere_at", "default_unit",
    "from_si", "in_unit", "last_digit_si", "prepare", "quantities", "quantity", "resolve", "say",
    "shown", "site_from", "speakable", "surprising", "to_si", "unit_words",
]  # fmt: skip

LONG_FIGURE = 100_000  # a range in this many of a unit is told in the usual unit instead


@dataclass(frozen=True)
class Resolved:
    """A reading that is clear in every respect."""

    quantity: str
    value: Decimal  # as said
    unit: str  # a name of units.UNITS, with its zero: "psig", never "psi" or "pounds"
    si: float  # pressures absolute
    si_unit: str  # a value of units.SI_UNITS


# --- conversion ---------------------------------------------------------------------------------

_PINT_SI = {"delta_K": "kelvin", "m3/s": "m**3/s", "m3": "m**3", "1": "", "N m": "N*m"}


@cache
def _registry() -> pint.UnitRegistry[Decimal]:
    import pint  # slow to import and to build, so only when the first value needs converting

    return pint.UnitRegistry(non_int_type=Decimal, autoconvert_offset_to_baseunit=True)


def prepare() -> None:
    """Load the unit library now (about half a second), so that the first reading need not wait."""
    for unit in UNITS:
        _line(unit)


@cache
def _line(unit: str) -> tuple[float, float]:
    """Factor and offset of a unit to SI, before any gauge zero: si = value * factor + offset."""
    known = _known(unit)
    si_unit = SI_UNITS[known.dimension]
    target = _PINT_SI.get(si_unit, si_unit)
    at_0, at_1 = (
        _registry().Quantity(Decimal(n), known.pint).to(target).magnitude for n in (0, 1)
    )
    return float(at_1 - at_0), float(at_0)


def _known(unit: str) -> Unit:
    if unit in UNITS:
        return UNITS[unit]
    if unit == "psi":
        raise ReadingError("psi says nothing of its zero: give psig or psia")
    if unit in WORD_UNITS:
        raise ReadingError(f"{unit!r} means more than one unit: give one of {_listed()}")
    raise ReadingError(f"unknown unit {unit!r}: give one of {_listed()}")


def _listed() -> str:
    return ", ".join(UNITS)


def to_si(value: Decimal | float, unit: str, site: Site = STANDARD) -> tuple[float, str]:
    """The value in SI and the SI unit's name; every pressure as absolute Pa.

    Raises ReadingError for a unit that is unknown or says too little ("psi", "pounds").
    """
    known, (factor, offset) = _known(unit), _line(unit)
    si = float(value) * factor + offset
    if known.zero == "gauge":
        si = site.atmosphere_pa + si
    elif known.zero == "below":
        si = site.atmosphere_pa - si
    return si, SI_UNITS[known.dimension]


def from_si(si: float, unit: str, site: Site = STANDARD) -> float:
    """The inverse of `to_si`: an SI value (absolute Pa, K, ...) in the unit named."""
    known, (factor, offset) = _known(unit), _line(unit)
    if known.zero == "gauge":
        si = si - site.atmosphere_pa
    elif known.zero == "below":
        si = site.atmosphere_pa - si
    return (si - offset) / factor


def in_unit(reading: Resolved, unit: str, site: Site = STANDARD) -> Resolved:
    """The same reading in another unit of its dimension, to 4 significant digits.

    Raises ReadingError when the unit measures something else.
    """
    if SI_UNITS[_known(unit).dimension] != reading.si_unit:
        raise ReadingError(f"{speakable(reading.quantity)} cannot be in {unit}")
    value = Decimal(f"{from_si(reading.si, unit, site):.4g}")
    return Resolved(reading.quantity, Decimal(f"{value:f}"), unit, reading.si, reading.si_unit)


def last_digit_si(reading: Resolved) -> float:
    """What one step of the last digit said is worth in SI: 0.1 in "29.9 inHg" is 339 Pa.

    The honest resolution of a reading, whatever the gauge claims.
    """
    exponent = reading.value.as_tuple().exponent
    assert isinstance(exponent, int)  # resolve() lets no NaN or infinity through
    return float(Decimal(1).scaleb(exponent)) * _line(reading.unit)[0]


# --- resolving ----------------------------------------------------------------------------------


def resolve(
    value: Decimal, unit: str | None, quantity: str | None, *, expected: str | None = None,
    site: Site = STANDARD,
) -> Resolved | Refused:
    """Decide what was measured, in which unit, and its SI value; never raises on what was said.

    `unit` and `quantity` are None when unsaid; `expected` is the quantity the open step waits for.
    A number of inches of mercury below zero is a vacuum of that many inches.
    Raises ReadingError only when `expected` is no quantity.
    """
    about = which_quantity(unit, quantity, expected)
    if isinstance(about, Refused):
        return about
    exact = which_unit(value, unit, about, site)
    if isinstance(exact, Refused):
        return exact
    if exact == "inHg-vacuum":
        value = abs(value)
    if not value.is_finite():
        return Refused("That is not a number.", "impossible")
    si, si_unit = to_si(value, exact, site)
    found = Resolved(about.name, value, exact, si, si_unit)
    return _possible(found, about, site)


_NEVER_BELOW_ZERO = ("length", "current", "voltage", "volume", "flow", "torque")


def _possible(found: Resolved, about: Quantity, site: Site) -> Resolved | Refused:
    """Refuse what nature does not allow, with the reason."""
    said = say(found.value, found.unit)
    if about.dimension == "pressure":
        return _possible_pressure(found, about, site)
    if about.dimension == "temperature" and found.si < 0:
        return Refused(f"{said} is below absolute zero.", "impossible")
    if about.dimension in _NEVER_BELOW_ZERO and found.value < 0:
        return Refused(f"{about.called.capitalize()} cannot be below zero.", "impossible")
    return found


def _possible_pressure(found: Resolved, about: Quantity, site: Site) -> Resolved | Refused:
    zero = UNITS[found.unit].zero
    said = say(found.value, found.unit)
    if zero != "true" and -last_digit_si(found) < found.si < 0:
        # -14.7 psig where the air stands at 14.696: a perfect vacuum within the gauge's last digit
        found = Resolved(found.quantity, found.value, found.unit, 0.0, found.si_unit)
    if found.si > 0 or (found.si == 0 and about.kind == "gauge pressure"):
        return found
    if zero == "true":
        return Refused(f"{said} is no vacuum a gauge can show. Check the gauge.", "impossible")
    air = say(from_si(site.atmosphere_pa, "inHg"), "inHg")
    reason = (
        f"{said} is a perfect vacuum or more where the air stands at {air}. "
        "Read the micron gauge, or check the gauge's zero and the site's atmospheric pressure."
    )
    return Refused(reason, "impossible")


# --- plausibility -------------------------------------------------------------------------------


def surprising(
    reading: Resolved, earlier: Sequence[float] = (), *, site: Site = STANDARD
) -> str | None:
    """Why the reading should be read back before it counts; None: it is plausible.

    `earlier` holds the SI values of the same quantity's last readings, oldest first.
    """
    about = quantity(reading.quantity)
    unit = about.table_unit
    last = from_si(earlier[-1], unit, site) if earlier else None
    broken = why_surprising(about, from_si(reading.si, unit, site), last)
    if broken is None:
        return None
    if broken in ("low", "high"):
        return f"The usual {about.called} is {_usual(about, reading.unit, site)}."
    assert last is not None
    before = say(from_si(earlier[-1], reading.unit, site), reading.unit)
    way = "above" if reading.si > earlier[-1] else "below"
    return f"That is far {way} the last {about.called}, {before}."


def _usual(about: Quantity, unit: str, site: Site) -> str:
    """A quantity's range in a unit; in the usual unit where that one gives figures too long."""
    exact = [to_si(end, about.table_unit, site)[0] for end in (about.low, about.high)]
    low, high = sorted(from_si(end, unit, site) for end in exact)
    if high >= LONG_FIGURE or unit == "in":
        unit = default_unit(about.name, site)
        low, high = sorted(from_si(end, unit, site) for end in exact)
    return f"{shown(low)} to {say(high, unit)}"


# --- the site -----------------------------------------------------------------------------------


def site_from(told: Mapping[str, str]) -> Site:
    """The site from plain text, as JobStarted.site keeps it; other keys are left alone.

    "atmosphere": "29.92 inHg" or "altitude": "5280 ft" (standard atmosphere); "temperature-unit":
    "degF" or "degC". Raises ReadingError naming the entry that cannot be read.
    """
    atmosphere_pa = STANDARD.atmosphere_pa
    if "atmosphere" in told:
        atmosphere_pa = _amount("atmosphere", told["atmosphere"], "pressure")
    elif "altitude" in told:
        atmosphere_pa = atmosphere_at(_amount("altitude", told["altitude"], "length"))
    return Site(atmosphere_pa, told.get("temperature-unit", STANDARD.temperature_unit))


def _amount(key: str, text: str, dimension: str) -> float:
    example = {"pressure": "29.92 inHg", "length": "5280 ft"}[dimension]
    words = text.replace(",", "").split()
    try:
        number, unit = float(words[0]), words[1]
    except (IndexError, ValueError):
        raise ReadingError(f"site, {key}: {text!r} is no amount; write it as {example!r}") from None
    if _known(unit).dimension != dimension or _known(unit).zero != "true":
        raise ReadingError(f"site, {key}: {unit} is no absolute {dimension}; as in {example!r}")
    if not math.isfinite(number):
        raise ReadingError(f"site, {key}: {text!r} is not a finite number")
    return to_si(number, unit)[0]
