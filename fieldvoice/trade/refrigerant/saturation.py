"""Saturation of refrigerants (bubble and dew), superheat and subcooling, from shipped tables."""

from __future__ import annotations

import bisect
import functools
import math
from dataclasses import asdict, dataclass
from importlib import resources
from typing import Any

from fieldvoice.quantity.constants import PA_PER_PSI, k_to_f
from fieldvoice.trade.errors import TradeError, require_between, require_finite, require_positive
from fieldvoice.trade.refrigerant.refrigerants import names, refrigerant

Column = tuple[float, ...]

LINE_RANGE_K = (200.0, 450.0)  # of a line that a clamp can read (common practice)
_MINUS_1_K, _BUBBLE, _DEW, _LIQUID, _VAPOUR = range(5)


@dataclass(frozen=True)
class Saturation:
    """Both sides of saturation at one pressure: temperatures in K, glide in kelvin."""

    refrigerant: str
    safety_class: str
    pressure_pa: float
    bubble_k: float
    dew_k: float
    source: str

    @property
    def glide_k(self) -> float:
        """Dew less bubble temperature, K."""
        return self.dew_k - self.bubble_k

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return {**asdict(self), "glide_k": self.glide_k}


@dataclass(frozen=True)
class LineCondition:
    """Superheat or subcooling: how far a line is from saturation, K (may be negative)."""

    kind: str  # "superheat" or "subcooling"
    refrigerant: str
    safety_class: str
    difference_k: float
    saturation_k: float
    side: str  # "dew" or "bubble"
    pressure_pa: float
    line_k: float
    note: str
    source: str

    @property
    def difference_f(self) -> float:
        """The difference in Fahrenheit degrees."""
        return self.difference_k * 1.8

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return {**asdict(self), "difference_f": self.difference_f}


def bubble_pressure_pa(name: str, temperature_k: float) -> float:
    """Pressure at which liquid at this temperature starts to boil, Pa absolute."""
    return _at_temperature(name, temperature_k, _BUBBLE)


def dew_pressure_pa(name: str, temperature_k: float) -> float:
    """Pressure at which vapour at this temperature starts to condense, Pa absolute."""
    return _at_temperature(name, temperature_k, _DEW)


def liquid_density(name: str, temperature_k: float) -> float:
    """Density of saturated liquid, kg/m3."""
    return _at_temperature(name, temperature_k, _LIQUID)


def vapour_density(name: str, temperature_k: float) -> float:
    """Density of saturated vapour, kg/m3."""
    return _at_temperature(name, temperature_k, _VAPOUR)


def bubble_temperature_k(name: str, pressure_pa: float) -> float:
    """Temperature at which liquid at this absolute pressure boils, K."""
    return _at_pressure(name, pressure_pa, _BUBBLE)


def dew_temperature_k(name: str, pressure_pa: float) -> float:
    """Temperature at which vapour at this absolute pressure condenses, K."""
    return _at_pressure(name, pressure_pa, _DEW)


def saturation(name: str, pressure_pa: float) -> Saturation:
    """Bubble and dew temperature and glide at an absolute pressure, Pa."""
    fluid = refrigerant(name)
    return Saturation(
        fluid.name, fluid.safety_class, pressure_pa,
        bubble_temperature_k(name, pressure_pa), dew_temperature_k(name, pressure_pa), source(),
    )


def superheat(name: str, pressure_pa: float, line_k: float) -> LineCondition:
    """Suction line temperature less the dew temperature at suction pressure (absolute), K."""
    fluid = refrigerant(name)
    require_between("line temperature", line_k, *LINE_RANGE_K, "K")
    dew = dew_temperature_k(name, pressure_pa)
    note = "" if line_k >= dew else (
        "The line is below the dew point: liquid may be coming back, or a reading is wrong."
    )
    return LineCondition("superheat", fluid.name, fluid.safety_class, line_k - dew, dew, "dew",
                         pressure_pa, line_k, note, source())


def subcooling(name: str, pressure_pa: float, line_k: float) -> LineCondition:
    """Bubble temperature at liquid pressure (absolute) less the liquid line temperature, K."""
    fluid = refrigerant(name)
    require_between("line temperature", line_k, *LINE_RANGE_K, "K")
    bubble = bubble_temperature_k(name, pressure_pa)
    note = "" if line_k <= bubble else (
        "The line is above the bubble point: it carries vapour too, or a reading is wrong."
    )
    return LineCondition("subcooling", fluid.name, fluid.safety_class, bubble - line_k, bubble,
                         "bubble", pressure_pa, line_k, note, source())


def _at_temperature(name: str, temperature_k: float, column: int) -> float:
    fluid = refrigerant(name)
    require_finite("temperature", temperature_k, "K")
    if not fluid.low_k <= temperature_k <= fluid.high_k:
        raise TradeError(
            f"{fluid.name} at {k_to_f(temperature_k):.1f} F is outside the table: permitted range "
            f"is {k_to_f(fluid.low_k):.0f} to {k_to_f(fluid.high_k):.0f} F"
        )
    table = _tables()[fluid.name]
    return math.exp(_between(-1.0 / temperature_k, table[_MINUS_1_K], table[column]))


def _at_pressure(name: str, pressure_pa: float, column: int) -> float:
    fluid = refrigerant(name)
    table = _tables()[fluid.name]
    require_positive(f"absolute pressure of {fluid.name}", pressure_pa, "Pa")
    low, high = math.exp(table[column][0]), math.exp(table[column][-1])
    if not low <= pressure_pa <= high:
        raise TradeError(
            f"{fluid.name} at {pressure_pa / PA_PER_PSI:.1f} psia is outside the table: permitted "
            f"range is {low / PA_PER_PSI:.1f} to {high / PA_PER_PSI:.1f} psia"
        )
    return -1.0 / _between(math.log(pressure_pa), table[column], table[_MINUS_1_K])


def _between(x: float, xs: Column, ys: Column) -> float:
    """Linear interpolation in rising `xs`; ln p against -1/T is nearly straight."""
    high = min(max(bisect.bisect_right(xs, x), 1), len(xs) - 1)
    share = (x - xs[high - 1]) / (xs[high] - xs[high - 1])
    return ys[high - 1] + share * (ys[high] - ys[high - 1])


@functools.cache
def source() -> str:
    """What the tables were made with: their first line says it."""
    return _lines()[0].removeprefix("# ")


@functools.cache
def _tables() -> dict[str, tuple[Column, ...]]:
    """Columns of each refrigerant: -1/T, then logarithms of both pressures and both densities."""
    rows: dict[str, list[list[float]]] = {name: [] for name in names()}
    for line in _lines()[2:]:
        name, kelvin, *values = line.split(",")
        rows[name].append([-1.0 / float(kelvin), *(math.log(float(value)) for value in values)])
    return {name: tuple(zip(*found, strict=True)) for name, found in rows.items()}


@functools.cache
def _lines() -> list[str]:
    """The shipped table: what it was made with, names of columns, rows."""
    table = resources.files("fieldvoice.trade.refrigerant") / "refrigerants.csv"
    return table.read_text("utf-8").splitlines()
