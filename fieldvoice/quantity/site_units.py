"""Values in the units that a site works in: degrees are said as Fahrenheit or as Celsius."""

from __future__ import annotations

from decimal import Decimal

from fieldvoice.quantity.convert import from_si, to_si
from fieldvoice.quantity.site import Site
from fieldvoice.quantity.units import UNITS, say

_PREFIX = {"temperature": "", "temperature difference": "delta-"}
_TENTH = Decimal("0.1")


def in_site_unit(value: Decimal, unit: str, site: Site) -> tuple[Decimal, str]:
    """The value and unit as the site says them: temperatures to a tenth, all others as they are."""
    known = UNITS.get(unit)
    if known is None or known.dimension not in _PREFIX:
        return value, unit
    wanted = _PREFIX[known.dimension] + site.temperature_unit
    if unit == wanted:
        return value, unit
    found = Decimal(from_si(to_si(value, unit), wanted)).quantize(_TENTH)
    return found.quantize(Decimal(1)) if found == found.to_integral_value() else found, wanted


def say_at(value: Decimal, unit: str, site: Site) -> str:
    """Screen text of a value as the site says it: "1.7 °C" for 35 °F."""
    return say(*in_site_unit(value, unit, site))
