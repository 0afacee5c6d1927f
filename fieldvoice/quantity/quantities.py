"""The table of quantities in quantities.toml, checked as it is read."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, fields
from decimal import Decimal, InvalidOperation
from functools import cache
from importlib import resources
from typing import Any

from fieldvoice.quantity.errors import ReadingError

KINDS = {  # kind -> dimension (a key of units.SI_UNITS)
    "vacuum": "pressure",
    "gauge pressure": "pressure",
    "temperature": "temperature",
    "temperature difference": "temperature difference",
    "length": "length",
    "mass": "mass",
    "current": "current",
    "voltage": "voltage",
    "static pressure": "pressure difference",
    "volume": "volume",
    "flow": "flow",
    "torque": "torque",
    "turning": "turning",
}


@dataclass(frozen=True)
class Example:
    """A value that fits a quantity: as it is said, and the number."""

    said: str  # "one eighteen"
    value: Decimal


@dataclass(frozen=True)
class Quantity:
    """Something that can be measured; `low` to `fall_below` are in `unit` (degrees: °F)."""

    name: str  # "suction-pressure"
    called: str  # speakable: "suction pressure"
    kind: str  # a key of KINDS
    unit: str  # a unit name, or "degrees"
    low: float
    high: float
    example: Example  # without its unit
    rise: float | None = None  # times the last reading
    fall: float | None = None
    fall_below: float | None = None
    step: float | None = None  # distance from the last reading
    also: str | None = None  # a quantity that means this one while it is waited for
    only: tuple[str, ...] = ()  # units that mean this quantity
    from_air: bool = False  # a vacuum that is followed from the air down on a compound gauge

    @property
    def dimension(self) -> str:
        """What its units measure: "pressure", "temperature", ..."""
        return KINDS[self.kind]

    @property
    def table_unit(self) -> str:
        """The unit that the numbers of this entry are in."""
        if self.unit != "degrees":
            return self.unit
        return "degF" if self.kind == "temperature" else "delta-degF"


def read_quantities(text: str) -> dict[str, Quantity]:
    """Read the TOML table; raises ReadingError naming the quantity and the field at fault."""
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ReadingError(f"quantities: {error}") from None
    return {name: _quantity(name, table) for name, table in tables.items()}


def _quantity(name: str, table: Mapping[str, Any]) -> Quantity:
    where = f"quantities, [{name}]:"
    table = dict(table)
    if table.get("kind") not in KINDS:
        raise ReadingError(f"{where} kind is {table.get('kind')!r}; give one of {', '.join(KINDS)}")
    low_high = table.pop("range", None)
    if not isinstance(low_high, list) or len(low_high) != 2 or not low_high[0] < low_high[1]:
        raise ReadingError(f"{where} range is {low_high!r}; give [lowest, highest]")
    table["only"] = tuple(table.get("only", ()))
    if "example" in table:
        table["example"] = _example(where, table["example"])
    unknown = table.keys() - {field.name for field in fields(Quantity)}
    if unknown:
        raise ReadingError(f"{where} unknown field {sorted(unknown)[0]!r}")
    try:
        return Quantity(name=name, low=low_high[0], high=low_high[1], **table)
    except TypeError as error:
        raise ReadingError(f"{where} {error}") from None


def _example(where: str, told: Any) -> Example:
    try:
        said, value = told
        return Example(str(said), Decimal(value))
    except (TypeError, ValueError, InvalidOperation):
        raise ReadingError(
            f'{where} example is {told!r}; give ["as it is said", "number"]') from None


@cache
def quantities() -> dict[str, Quantity]:
    """The shipped table, by name."""
    return read_quantities(
        resources.files("fieldvoice.quantity").joinpath("quantities.toml").read_text("utf-8")
    )


def quantity(name: str) -> Quantity:
    """One quantity; raises ReadingError for a name that the table lacks."""
    try:
        return quantities()[name]
    except KeyError:
        raise ReadingError(
            f"unknown quantity {name!r}: known are {', '.join(sorted(quantities()))}"
        ) from None


def meant_by(unit: str | None) -> str | None:
    """The quantity that a unit means when none was said: "vacuum" by microns; None: it is open."""
    return next((q.name for q in quantities().values() if unit in q.only), None)


def speakable(name: str) -> str:
    """How a reply names the quantity: "suction pressure"; unknown names lose their hyphens."""
    known = quantities().get(name)
    return name.replace("-", " ") if known is None else known.called
