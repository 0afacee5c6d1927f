"""The one table of units: what they measure, from which zero, how they are shown, said, written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

SI_UNITS = {  # dimension -> the unit that events and arithmetic carry
    "pressure": "Pa",  # always absolute
    "temperature": "K",
    "temperature difference": "delta_K",
    "pressure difference": "Pa",  # counts from no zero: a duct against the room
    "length": "m",
    "mass": "kg",
    "mass per length": "kg/m",
    "current": "A",
    "voltage": "V",
    "time": "s",
    "flow": "m3/s",
    "volume": "m3",
    "ratio": "1",
    "torque": "N m",
    "turning": "1/s",
}


@dataclass(frozen=True)
class Unit:
    """One unit."""

    name: str  # as in Reading.unit, the log and procedures
    dimension: str  # a key of SI_UNITS
    pint: str  # expression that pint reads as we mean it (its "micron" is a length, "cfm" no flow)
    screen: str  # as shown
    words: str  # as spoken aloud after any number but 1
    one: str  # as spoken after 1
    zero: str = "true"  # pressures: "true" (absolute), "gauge" (up from the air), "below" (down)
    written: tuple[str, ...] = ()  # other ways to write it; in an error the first stands for it

    def spoken(self, value: Decimal | float) -> str:
        """The words that stand after a value: "foot" after 1, else "feet"."""
        return self.one if abs(value) == 1 else self.words


@dataclass(frozen=True)
class Scale:
    """A name of a pressure that says nothing of its zero, as "bar" on a gauge."""

    gauge: str  # the unit that it is on a manifold gauge, which counts from the air outside
    absolute: str = ""  # the unit that it is elsewhere; "": not settled, so it is refused
    write: str = ""  # what a command line asks for in its place; "": there it is absolute
    spoken: str = ""  # "inch of mercury|inches of mercury", where no unit of the table has its name


@dataclass(frozen=True)
class TwoUnits:
    """Two units that are said together, "seven pounds two ounces"; the number counts the small."""

    large: str  # names of the table below
    small: str
    times: int  # how many of the small one make a large one

    @property
    def words(self) -> str:
        """As spoken: "pounds and ounces"."""
        return f"{UNITS[self.large].words} and {UNITS[self.small].words}"

    def parts(self, value: Decimal | float) -> tuple[str, str]:
        """114 ounces as they are told: ("7", "2")."""
        number = Decimal(str(value))
        large, small = divmod(abs(number), self.times)
        return f"{'-' if number < 0 else ''}{large:,f}", shown(small)


def _unit(  # a row of the table below
    name: str, dimension: str, pint: str, screen: str, spoken: str, written: str = "",
    zero: str = "true",
) -> Unit:
    one, _, many = spoken.partition("|")
    ways = tuple(way.strip() for way in written.split(",") if way)
    return Unit(name, dimension, pint, screen, many or one, one, zero, ways)


_P, _T, _DT, _DP = "pressure", "temperature", "temperature difference", "pressure difference"
# Upper and lower case count alike in what is written. Spoken: after 1 | after other numbers.
_TABLE = (
    # name, dimension, pint, screen, spoken, written, zero
    _unit("microns", _P, "micrometer_Hg", "microns", "micron|microns",
          "um, µm, u, mic, mics, umHg, µmHg, um Hg, mTorr, millitorr"),
    _unit("torr", _P, "torr", "torr", "torr", "torr, torrs"),
    _unit("mmHg", _P, "millimeter_Hg", "mmHg", "millimeter of mercury|millimeters of mercury",
          "mmHg, mm Hg"),
    _unit("inHg", _P, "inch_Hg", "inHg absolute",
          "inch of mercury absolute|inches of mercury absolute", "inHga, inHg abs"),
    _unit("Pa", _P, "pascal", "Pa", "pascal|pascals"),
    _unit("kPa", _P, "kilopascal", "kPa", "kilopascal|kilopascals", "kPaa, kPa absolute, kPa abs"),
    _unit("MPa", _P, "megapascal", "MPa", "megapascal|megapascals", "MPaa, MPa absolute, MPa abs"),
    _unit("mbar", _P, "millibar", "mbar", "millibar", "mbar, mb, hPa"),
    _unit("bar", _P, "bar", "bar", "bar", "bara, bar absolute, bar abs"),
    _unit("psia", _P, "psi", "psia", "p s i a", "psia, psi a, psi absolute"),
    _unit("psig", _P, "psi", "psig", "p s i", "psig, psi g, psi gauge, p s i g", "gauge"),
    _unit("kPa-gauge", _P, "kilopascal", "kPa gauge", "kilopascal gauge|kilopascals gauge",
          "kPag", "gauge"),
    _unit("MPa-gauge", _P, "megapascal", "MPa gauge", "megapascal gauge|megapascals gauge",
          "MPag", "gauge"),
    _unit("mbar-gauge", _P, "millibar", "mbar gauge", "millibar gauge", "mbarg", "gauge"),
    _unit("bar-gauge", _P, "bar", "bar gauge", "bar gauge", "barg", "gauge"),
    _unit("mmHg-gauge", _P, "millimeter_Hg", "mmHg gauge",
          "millimeter of mercury gauge|millimeters of mercury gauge", "mmHgg", "gauge"),
    _unit("inHg-vacuum", _P, "inch_Hg", "inHg vacuum", "inch of vacuum|inches of vacuum",
          "inHgvac, inHg vac, in Hg vac, in vac, inches of mercury vacuum", "below"),
    _unit("degF", _T, "degF", "°F", "degree Fahrenheit|degrees Fahrenheit", "F, deg F"),
    _unit("degC", _T, "degC", "°C", "degree Celsius|degrees Celsius", "C, deg C"),
    _unit("K", _T, "kelvin", "K", "kelvin", "K"),
    _unit("delta-degF", _DT, "delta_degF", "°F", "degree|degrees", "F, degF, deg F"),
    _unit("delta-degC", _DT, "delta_degC", "°C", "degree Celsius|degrees Celsius",
          "C, degC, deg C"),
    _unit("delta-K", _DT, "kelvin", "K", "kelvin", "K"),
    _unit("inH2O", _DP, "inch_H2O", "inH2O", "inch of water|inches of water",
          "inH2O, in H2O, inwc, in wc, iwc"),
    _unit("delta-Pa", _DP, "pascal", "Pa", "pascal|pascals"),
    _unit("ft", "length", "foot", "ft", "foot|feet", "ft, ', \u2032"),
    _unit("in", "length", "inch", "in", "inch|inches", 'in, ", \u2033'),
    _unit("m", "length", "meter", "m", "meter|meters", "m, metre, metres"),
    _unit("cm", "length", "centimeter", "cm", "centimeter|centimeters"),
    _unit("mm", "length", "millimeter", "mm", "millimeter|millimeters",
          "mm, millimetre, millimetres"),
    _unit("oz", "mass", "ounce", "oz", "ounce|ounces"),
    _unit("lb", "mass", "pound", "lb", "pound|pounds", "lb, lbs"),
    _unit("g", "mass", "gram", "g", "gram|grams", "g, gm"),
    _unit("kg", "mass", "kilogram", "kg", "kilogram|kilograms", "kg, kgs"),
    _unit("mg", "mass", "milligram", "mg", "milligram|milligrams"),
    _unit("A", "current", "ampere", "A", "amp|amps", "A, ampere, amperes"),
    _unit("V", "voltage", "volt", "V", "volt|volts"),
    _unit("min", "time", "minute", "min", "minute|minutes", "min, mins"),
    _unit("s", "time", "second", "s", "second|seconds", "s, sec, secs"),
    _unit("h", "time", "hour", "h", "hour|hours", "h, hr, hrs"),
    _unit("d", "time", "day", "d", "day|days"),
    _unit("cfm", "flow", "foot**3/minute", "cfm", "c f m"),
    _unit("L/s", "flow", "liter/second", "L/s", "liter per second|liters per second", "L/s, lps"),
    _unit("m3/h", "flow", "meter**3/hour", "m³/h", "cubic meter per hour|cubic meters per hour",
          "m3/h, cmh"),
    _unit("L", "volume", "liter", "L", "liter|liters", "L, litre, litres"),
    _unit("mL", "volume", "milliliter", "mL", "milliliter|milliliters", "mL, cc"),
    _unit("ft3", "volume", "foot**3", "ft³", "cubic foot|cubic feet", "ft3, ft^3, cu ft, cuft"),
    _unit("in3", "volume", "inch**3", "in³", "cubic inch|cubic inches", "in3, in^3, cu in, cuin"),
    _unit("m3", "volume", "meter**3", "m³", "cubic meter|cubic meters", "m3, m^3"),
    _unit("gal", "volume", "gallon", "gal", "gallon|gallons"),
    _unit("%", "ratio", "percent", "%", "percent"),
    _unit("ft-lb", "torque", "foot*force_pound", "ft-lb", "foot pound|foot pounds",
          "ft-lb, ft lb, ft lbs, ftlb, ftlbs"),
    _unit("rpm", "turning", "1/minute", "rpm", "r p m", "rpm"),
    _unit("N-m", "torque", "newton*meter", "N·m", "newton meter|newton meters", "N-m, N m, Nm"),
)
UNITS: Mapping[str, Unit] = {unit.name: unit for unit in _TABLE}
PRESSURE_SCALES: Mapping[str, Scale] = {
    "psi": Scale("psig", "", "psig or psia", "p s i"),
    "kPa": Scale("kPa-gauge", "kPa", "kPag or kPaa"),
    "MPa": Scale("MPa-gauge", "MPa", "MPag or MPaa"),
    "mbar": Scale("mbar-gauge", "mbar"), "bar": Scale("bar-gauge", "bar", "barg or bara"),
    "mmHg": Scale("mmHg-gauge", "mmHg"),
    "inHg": Scale("inHg-vacuum", "inHg", "inHgvac or inHga", "inch of mercury|inches of mercury"),
}  # fmt: skip
# Words that more than one unit answers to; the kind of quantity decides. "site": what it works in.
SHARED_WORDS: Mapping[str, Mapping[str, str]] = {
    "pounds": {"gauge pressure": "psig", "mass": "lb"},
    "ounces": {"mass": "oz"},
    "inches": {"length": "in", "gauge pressure": "inHg-vacuum", "vacuum": "inHg-vacuum",
               "static pressure": "inH2O"},
    "degrees": {"temperature": "site", "temperature difference": "site"},
}
# name in the log -> what was said together; whoever reads the log finds the small unit counted
SAID_TOGETHER: Mapping[str, TwoUnits] = {
    "lb-oz": TwoUnits("lb", "oz", 16), "ft-in": TwoUnits("ft", "in", 12),
}
# What stands over and under a stroke -> the dimension that it is.
PER = {("mass", "length"): "mass per length", ("volume", "time"): "flow"}


def shown(value: Decimal | float) -> str:
    """The number with thousands separators: "4,120"; floats to 4 significant digits."""
    if isinstance(value, Decimal):
        return f"{value:,f}"
    if value == 0:
        return "0"
    digits = Decimal(f"{value:.4g}")
    text = f"{digits:,f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def say(value: Decimal | float, unit: str) -> str:
    """Screen text: "412 microns", "1 micron", "54 °F", "29.9 inHg vacuum", "22 ft 6 in"."""
    if unit in SAID_TOGETHER:
        both = SAID_TOGETHER[unit]
        large, small = both.parts(value)
        return f"{large} {both.large} {small} {both.small}"
    number = shown(value)
    known = UNITS.get(unit)
    screen = unit if known is None else known.screen
    if known is not None and number == "1" and known.screen == known.words:
        screen = known.one
    return number + screen if screen == "%" else f"{number} {screen}"


def unit_words(value: Decimal | float, unit: str) -> str:
    """The unit as spoken aloud after the number: "microns", "degrees Fahrenheit", "foot"."""
    if unit in SAID_TOGETHER:
        return SAID_TOGETHER[unit].words
    known = UNITS.get(unit)
    return unit if known is None else known.spoken(value)


def counted_in(unit: str) -> str:
    """The one unit that a value's number counts: ounces of "lb-oz", else the unit itself."""
    return SAID_TOGETHER[unit].small if unit in SAID_TOGETHER else unit
