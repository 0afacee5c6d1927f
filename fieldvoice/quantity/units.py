"""The units a reading can have: what they measure, from which zero, and how they are shown."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

SI_UNITS = {  # dimension -> the unit that events and arithmetic carry
    "pressure": "Pa",  # always absolute
    "temperature": "K",
    "temperature difference": "delta_K",
    "length": "m",
    "mass": "kg",
    "current": "A",
    "voltage": "V",
    "time": "s",
    "flow": "m3/s",
    "volume": "m3",
    "ratio": "1",
    "torque": "N m",
}


@dataclass(frozen=True)
class Unit:
    """One unit."""

    name: str  # as in Reading.unit
    dimension: str  # a key of SI_UNITS
    pint: str  # expression that pint reads as we mean it (its "micron" is a length, "cfm" no flow)
    screen: str  # as shown
    words: str  # as spoken aloud
    zero: str = "true"  # pressures: "true" (absolute), "gauge" (up from the air), "below" (down)
    one: str = ""  # shown and spoken after exactly 1, where that differs


_TABLE = (
    # name, dimension, pint, screen, words, zero, one
    Unit("microns", "pressure", "micrometer_Hg", "microns", "microns", one="micron"),
    Unit("torr", "pressure", "torr", "torr", "torr"),
    Unit("mmHg", "pressure", "millimeter_Hg", "mmHg", "millimeters of mercury"),
    Unit("inHg", "pressure", "inch_Hg", "inHg absolute", "inches of mercury absolute"),
    Unit("Pa", "pressure", "pascal", "Pa", "pascals", one="pascal"),
    Unit("kPa", "pressure", "kilopascal", "kPa", "kilopascals"),
    Unit("MPa", "pressure", "megapascal", "MPa", "megapascals"),
    Unit("mbar", "pressure", "millibar", "mbar", "millibar"),
    Unit("bar", "pressure", "bar", "bar", "bar"),
    Unit("psia", "pressure", "psi", "psia", "p s i absolute"),
    Unit("psig", "pressure", "psi", "psig", "p s i", "gauge"),
    Unit("kPa-gauge", "pressure", "kilopascal", "kPa gauge", "kilopascals gauge", "gauge"),
    Unit("MPa-gauge", "pressure", "megapascal", "MPa gauge", "megapascals gauge", "gauge"),
    Unit("mbar-gauge", "pressure", "millibar", "mbar gauge", "millibar gauge", "gauge"),
    Unit("bar-gauge", "pressure", "bar", "bar gauge", "bar gauge", "gauge"),
    Unit("mmHg-gauge", "pressure", "millimeter_Hg", "mmHg gauge", "millimeters of mercury gauge",
         "gauge"),
    Unit("inHg-vacuum", "pressure", "inch_Hg", "inHg vacuum", "inches of vacuum", "below"),
    Unit("degF", "temperature", "degF", "°F", "degrees Fahrenheit", one="degree Fahrenheit"),
    Unit("degC", "temperature", "degC", "°C", "degrees Celsius", one="degree Celsius"),
    Unit("delta-degF", "temperature difference", "delta_degF", "°F", "degrees", one="degree"),
    Unit("delta-degC", "temperature difference", "delta_degC", "°C", "degrees Celsius",
         one="degree Celsius"),
    Unit("ft", "length", "foot", "ft", "feet", one="foot"),
    Unit("in", "length", "inch", "in", "inches", one="inch"),
    Unit("m", "length", "meter", "m", "meters", one="meter"),
    Unit("mm", "length", "millimeter", "mm", "millimeters", one="millimeter"),
    Unit("oz", "mass", "ounce", "oz", "ounces", one="ounce"),
    Unit("lb", "mass", "pound", "lb", "pounds", one="pound"),
    Unit("g", "mass", "gram", "g", "grams", one="gram"),
    Unit("kg", "mass", "kilogram", "kg", "kilograms", one="kilogram"),
    Unit("A", "current", "ampere", "A", "amps", one="amp"),
    Unit("V", "voltage", "volt", "V", "volts", one="volt"),
    Unit("min", "time", "minute", "min", "minutes", one="minute"),
    Unit("s", "time", "second", "s", "seconds", one="second"),
    Unit("h", "time", "hour", "h", "hours", one="hour"),
    Unit("cfm", "flow", "foot**3/minute", "cfm", "c f m"),
    Unit("L/s", "flow", "liter/second", "L/s", "liters per second"),
    Unit("m3/h", "flow", "meter**3/hour", "m³/h", "cubic meters per hour"),
    Unit("L", "volume", "liter", "L", "liters", one="liter"),
    Unit("mL", "volume", "milliliter", "mL", "milliliters", one="milliliter"),
    Unit("ft3", "volume", "foot**3", "ft³", "cubic feet", one="cubic foot"),
    Unit("in3", "volume", "inch**3", "in³", "cubic inches", one="cubic inch"),
    Unit("m3", "volume", "meter**3", "m³", "cubic meters", one="cubic meter"),
    Unit("%", "ratio", "percent", "%", "percent"),
    Unit("ft-lb", "torque", "foot*force_pound", "ft-lb", "foot pounds", one="foot pound"),
    Unit("N-m", "torque", "newton*meter", "N·m", "newton meters", one="newton meter"),
)
UNITS: dict[str, Unit] = {unit.name: unit for unit in _TABLE}

# Scales that say nothing of their zero: on a manifold gauge they count from the air outside.
GAUGE_OF = {
    "psi": "psig", "kPa": "kPa-gauge", "MPa": "MPa-gauge", "mbar": "mbar-gauge",
    "bar": "bar-gauge", "mmHg": "mmHg-gauge", "inHg": "inHg-vacuum",
}  # fmt: skip
# Words that more than one unit answers to; the quantity decides.
WORD_UNITS = {
    "pounds": {"gauge pressure": "psig", "mass": "lb"},
    "ounces": {"mass": "oz"},
    "inches": {"length": "in", "gauge pressure": "inHg-vacuum", "vacuum": "inHg-vacuum"},
    "degrees": {"temperature": "temperature", "temperature difference": "temperature"},
}


def shown(value: Decimal | float) -> str:
    """The number with thousands separators: "4,120"; floats to 4 significant digits."""
    if isinstance(value, Decimal):
        return f"{value:,f}"
    if value == 0:
        return "0"
    digits = Decimal(f"{value:.4g}")
    text = f"{digits:,f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


LONG_INCHES = 36  # from here on inches are told in feet and inches


def say(value: Decimal | float, unit: str) -> str:
    """Screen text: "412 microns", "1 micron", "54 °F", "29.9 inHg vacuum", "22 ft 6 in"."""
    if unit == "in" and value >= LONG_INCHES:
        feet, inches = divmod(Decimal(str(value)), 12)
        return f"{feet:f} ft {shown(inches)} in" if inches else f"{feet:f} ft"
    number = shown(value)
    known = UNITS.get(unit)
    screen = unit if known is None else known.screen
    if known is not None and number == "1" and known.one and known.screen == known.words:
        screen = known.one
    return number + screen if screen == "%" else f"{number} {screen}"


def unit_words(value: Decimal | float, unit: str) -> str:
    """The unit as spoken aloud after the number: "microns", "degrees Fahrenheit", "foot"."""
    known = UNITS.get(unit)
    if known is None:
        return unit
    return known.one if known.one and value == 1 else known.words
