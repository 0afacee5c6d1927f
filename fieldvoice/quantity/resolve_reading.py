"""Value + unit + quantity, as far as they were said -> a reading in SI, or the reason why not."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

from fieldvoice.quantity.convert import from_si, one_in_si, to_si
from fieldvoice.quantity.quantities import Quantity
from fieldvoice.quantity.resolve_unit import Refused, resolve_quantity, resolve_unit
from fieldvoice.quantity.site import STANDARD, Site
from fieldvoice.quantity.units import SI_UNITS, UNITS, say


@dataclass(frozen=True)
class Resolved:
    """A reading that is clear in every respect."""

    quantity: str
    value: Decimal  # as said
    unit: str  # a name of units.UNITS, with its zero: "psig", never "psi" or "pounds"
    si: float  # pressures absolute
    si_unit: str  # a value of units.SI_UNITS


def resolve(
    value: Decimal, unit: str | None, quantity: str | None, *, expected: str | None = None,
    site: Site = STANDARD,
) -> Resolved | Refused:
    """Decide what was measured, in which unit, and its SI value; never raises on what was said.

    `unit` and `quantity` are None when unsaid; `expected` is the quantity the open step waits for.
    A number of inches of mercury below zero is a vacuum of that many inches.
    Raises ReadingError only when `expected` is no quantity.
    """
    about = resolve_quantity(unit, quantity, expected)
    if isinstance(about, Refused):
        return about
    exact = resolve_unit(value, unit, about, site)
    if isinstance(exact, Refused):
        return exact
    if exact == "inHg-vacuum":
        value = abs(value)
    if not value.is_finite():
        return Refused("That is not a number.", "impossible")
    si = to_si(value, exact, site.atmosphere_pa)
    found = Resolved(about.name, value, exact, si, SI_UNITS[about.dimension])
    return _possible(found, about, site)


def last_digit_si(reading: Resolved) -> float:
    """What one step of the last digit said is worth in SI: 0.1 in "29.9 inHg" is 339 Pa.

    The honest resolution of a reading, whatever the gauge claims.
    """
    exponent = reading.value.as_tuple().exponent
    assert isinstance(exponent, int)  # resolve() lets no NaN or infinity through
    return float(Decimal(1).scaleb(exponent)) * one_in_si(reading.unit)


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
        found = replace(found, si=0.0)
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
