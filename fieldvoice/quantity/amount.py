"""Text such as "450psig", "65F" or "25ft" to SI values; the only pint user in the arithmetic."""

from __future__ import annotations

import functools
import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.quantity.constants import PA_PER_ATM
from fieldvoice.trade.errors import TradeError

if TYPE_CHECKING:
    import pint

_TEXT = re.compile(
    r"\s*(?P<number>[-+]?(?:\d[\d,]*\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(?P<unit>[^\d\s].*?)?\s*"
)


@dataclass(frozen=True)
class Unit:
    """A unit word: what pint calls it, and for pressures the zero it counts from."""

    pint: str
    zero: str = "absolute"  # "absolute", "gauge" (above the atmosphere) or "below" (vacuum)


def _many(pint_name: str, *words: str, zero: str = "absolute") -> dict[str, Unit]:
    return {word: Unit(pint_name, zero) for word in words}


# Words are looked up in lower case. pint's own "micron", "cfm" and "pa" mean other things.
_PRESSURE = {
    **_many("micrometer_Hg", "um", "µm", "micron", "microns", "umhg"),
    **_many("torr", "torr"), **_many("millitorr", "mtorr"), **_many("mmHg", "mmhg"),
    **_many("pascal", "pa"), **_many("millibar", "mbar"),
    **_many("psi", "psia"), **_many("psi", "psig", zero="gauge"),
    **_many("bar", "bara"), **_many("bar", "barg", zero="gauge"),
    **_many("kilopascal", "kpaa"), **_many("kilopascal", "kpag", zero="gauge"),
    **_many("megapascal", "mpaa"), **_many("megapascal", "mpag", zero="gauge"),
    **_many("inHg", "inhga"), **_many("inHg", "inhgvac", "inhg vac", zero="below"),
}
_NO_ZERO = {
    "psi": "psig or psia", "bar": "barg or bara", "kpa": "kPag or kPaa", "mpa": "MPag or MPaa",
    "inhg": "inHgvac or inHga",
}
_TEMPERATURE = {
    **_many("degF", "f", "°f", "degf"), **_many("degC", "c", "°c", "degc"), **_many("kelvin", "k"),
}
_DIFFERENCE = {
    **_many("delta_degF", "f", "°f", "degf"), **_many("delta_degC", "c", "°c", "degc"),
    **_many("kelvin", "k"),
}
_LENGTH = {
    **_many("foot", "ft", "feet", "foot", "'"), **_many("inch", "in", "inch", "inches", '"'),
    **_many("meter", "m"), **_many("millimeter", "mm"), **_many("centimeter", "cm"),
}
_MASS = {
    **_many("ounce", "oz"), **_many("pound", "lb", "lbs"), **_many("gram", "g"),
    **_many("kilogram", "kg"), **_many("milligram", "mg"),
}
_PER_LENGTH = {
    **_many("ounce/foot", "oz/ft"), **_many("gram/meter", "g/m"), **_many("kilogram/meter", "kg/m"),
}
_VOLUME = {
    **_many("liter", "l", "litre", "liter", "litres", "liters"), **_many("milliliter", "ml"),
    **_many("foot**3", "ft3"), **_many("inch**3", "in3"), **_many("meter**3", "m3"),
    **_many("gallon", "gal"),
}
_FLOW = {
    **_many("foot**3/minute", "cfm"), **_many("liter/second", "l/s"),
    **_many("meter**3/hour", "m3/h"), **_many("meter**3/second", "m3/s"),
    **_many("liter/minute", "l/min"),
}
_TIME = {
    **_many("minute", "min", "minute", "minutes"), **_many("hour", "h", "hour", "hours"),
    **_many("second", "s", "seconds"), **_many("day", "d", "day", "days"),
}
_SHARE = _many("percent", "%", "percent")
_KINDS: dict[str, tuple[dict[str, Unit], str, str]] = {  # units, SI unit, what errors suggest
    "pressure": (_PRESSURE, "pascal", "um, torr, Pa, psig, psia, barg, bara, kPag, inHgvac"),
    "temperature": (_TEMPERATURE, "kelvin", "F, C, K"),
    "temperature difference": (_DIFFERENCE, "kelvin", "F, C, K"),
    "length": (_LENGTH, "meter", "ft, in, m, mm"), "mass": (_MASS, "kilogram", "oz, lb, g, kg"),
    "mass per length": (_PER_LENGTH, "kilogram/meter", "oz/ft, g/m"),
    "volume": (_VOLUME, "meter**3", "L, mL, ft3, in3, m3"),
    "flow": (_FLOW, "meter**3/second", "cfm, L/s, m3/h"), "time": (_TIME, "second", "min, h, s"),
    "share": (_SHARE, "dimensionless", "%"),
}


def measure(
    name: str, text: str, kind: str, *, default_unit: str | None = None,
    atmosphere_pa: float = PA_PER_ATM,
) -> float:
    """SI value of a text: Pa absolute, K, m, kg, kg/m, m3, m3/s or s, by `kind`.

    `name` is what the error calls the input. Raises TradeError when there is no number or unit, the
    unit is unknown, or a pressure unit does not say whether it is gauge or absolute.
    """
    units, si, usual = _KINDS[kind]
    match = _TEXT.fullmatch(text)
    if match is None:
        raise TradeError(f"{name} is {text!r}: write a number and a unit ({usual})")
    word = (match["unit"] or default_unit or "").strip()
    if not word:
        raise TradeError(f"{name} is {text!r}, without a unit: add one of {usual}")
    unit = units.get(word.lower())
    if unit is None:
        hint = _NO_ZERO.get(word.lower()) if kind == "pressure" else None
        if hint:
            raise TradeError(f"{name} is {text!r}: {word} does not say its zero; write {hint}")
        raise TradeError(f"{name} is {text!r}: unit {word!r} is not known; use {usual}")
    value = _convert(float(match["number"].replace(",", "")), unit.pint, si)
    if unit.zero == "gauge":
        value += atmosphere_pa
    elif unit.zero == "below":
        value = atmosphere_pa - value
    if not math.isfinite(value):
        raise TradeError(f"{name} is {text!r}: too large to work with")
    if value < 0 and kind in ("pressure", "temperature"):
        raise TradeError(f"{name} is {text!r}: below absolute zero; check the sign and the unit")
    return value


def _convert(value: float, unit: str, si: str) -> float:
    return float(_registry().Quantity(value, unit).to(si).magnitude)


@functools.cache
def _registry() -> pint.UnitRegistry[float]:
    import pint  # slow to import, so only when a value is converted

    return pint.UnitRegistry()
