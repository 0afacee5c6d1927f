"""The refrigerants of refrigerants.toml, by the names that technicians give them."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from fieldvoice.trade.errors import TradeError

# What the figure of an ASHRAE 34 class says of burning; 2L: burning velocity at most 10 cm/s.
_BURNS = {"1": "", "2L": "mildly flammable", "2": "flammable", "3": "highly flammable"}


@dataclass(frozen=True)
class Refrigerant:
    """A refrigerant: name, kilograms a mole, safety class, flammability limit, table range (K)."""

    name: str
    molar_kg: float
    safety_class: str
    flammable_kg_m3: float | None  # lower limit
    low_k: float
    high_k: float

    @property
    def caution(self) -> str:
        """What to mind, short enough to be spoken."""
        burns = _BURNS[self.safety_class[1:]]
        if not burns:
            return f"{self.name} is class {self.safety_class}: wear gloves and glasses, never vent."
        return (f"{self.name} is class {self.safety_class}, {burns}: no ignition source, "
                "ventilate, gloves and glasses, never vent.")


@dataclass(frozen=True)
class Fluid:
    """What the maker of the table needs: CoolProp's name, and of a mixture the critical K."""

    coolprop: str
    critical_k: float | None


def names() -> tuple[str, ...]:
    """Refrigerants known; the first one is the example of messages."""
    return tuple(_shipped())


def refrigerant(name: str) -> Refrigerant:
    """Look up by name (`"R-410A"`, `"r410a"`, `"410a"` are alike); TradeError if unknown."""
    for trade_name, (found, _) in _shipped().items():
        if _bare(trade_name) == _bare(name):
            return found
    raise TradeError(f"refrigerant {name!r} is not known: use one of {', '.join(names())}")


def known(name: str | None) -> Refrigerant | None:
    """As `refrigerant`; None for no name, and for one that is not known."""
    try:
        return None if name is None else refrigerant(name)
    except TradeError:
        return None


def fluids() -> Mapping[str, tuple[Refrigerant, Fluid]]:
    """Every refrigerant by name, with what its table is made from."""
    return _shipped()


def read_refrigerants(text: str) -> dict[str, tuple[Refrigerant, Fluid]]:
    """Read the TOML table; raises TradeError naming the refrigerant and the field at fault."""
    try:
        return {name: _read(name, dict(table)) for name, table in tomllib.loads(text).items()}
    except tomllib.TOMLDecodeError as error:
        raise TradeError(f"refrigerants: {error}") from None


def _bare(name: str) -> str:
    return name.lower().replace("-", "").replace(" ", "").removeprefix("r")


@cache
def _shipped() -> dict[str, tuple[Refrigerant, Fluid]]:
    table = resources.files("fieldvoice.trade.refrigerant") / "refrigerants.toml"
    return read_refrigerants(table.read_text("utf-8"))


def _read(name: str, table: dict[str, Any]) -> tuple[Refrigerant, Fluid]:
    where = f"refrigerants, [{name}]:"
    try:
        safety, limit = table.pop("safety_class"), table.pop("flammable_kg_m3", None)
        low, high = float(table.pop("lowest_k")), float(table.pop("highest_k"))
        molar = float(table.pop("molar_kg"))
        fluid = Fluid(table.pop("coolprop"), table.pop("critical_k", None))
    except KeyError as error:
        raise TradeError(f"{where} {error.args[0]} is missing") from None
    if table:
        raise TradeError(f"{where} unknown field {sorted(table)[0]!r}")
    if safety[:1] not in ("A", "B") or safety[1:] not in _BURNS:
        raise TradeError(f"{where} safety_class is {safety!r}: give one of ASHRAE 34, such as A2L")
    if (limit is None) != (not _BURNS[safety[1:]]):
        raise TradeError(f"{where} flammable_kg_m3 goes with every class but A1 and B1")
    if fluid.coolprop.endswith(".mix") != (fluid.critical_k is not None):
        raise TradeError(f"{where} critical_k goes with a mixture, and with nothing else")
    if not 0 < low < high:
        raise TradeError(f"{where} lowest_k {low:g} is not below highest_k {high:g}")
    if not 0.01 < molar < 0.3:
        raise TradeError(f"{where} molar_kg is {molar:g}: give kilograms a mole, such as 0.0726")
    return Refrigerant(name, molar, safety, limit, low, high), fluid
