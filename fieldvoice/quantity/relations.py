"""The table of relations between readings in relations.toml, checked as it is read."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from fieldvoice.quantity.amount import amount_si, step_si
from fieldvoice.quantity.errors import ReadingError
from fieldvoice.quantity.quantities import quantities

WORKED = ("dew", "bubble")  # temperatures of the refrigerant at a pressure


@dataclass(frozen=True)
class Side:
    """A reading, or what is worked out from it for the job's refrigerant."""

    quantity: str
    worked: str = ""  # one of WORKED; "": the reading itself

    @property
    def dimension(self) -> str:
        """What it measures."""
        return "temperature" if self.worked else quantities()[self.quantity].dimension


@dataclass(frozen=True)
class Relation:
    """What cannot be. Two sides, or one reading with the most that it can be; all in SI."""

    name: str
    because: str
    lower: Side  # the reading itself where `at_most` is set
    higher: Side | None = None
    at_most: str = ""  # as written, its SI value depends on the site
    slack_si: float = 0.0
    fresh_s: float | None = None
    after: str = ""  # a quantity
    after_at_most: str = ""
    during: str = ""  # the judge of a hold
    stages: tuple[str, ...] = ()
    until: tuple[str, ...] = ()  # steps

    def amount(self, text: str, quantity: str, atmosphere_pa: float) -> float:
        """One of its amounts in SI at a site; pressures absolute."""
        dimension = quantities()[quantity].dimension
        return amount_si(f"relations, [{self.name}]", text, dimension, atmosphere_pa=atmosphere_pa)


def read_relations(text: str) -> tuple[Relation, ...]:
    """Read the TOML table; raises ReadingError naming the row and the field at fault."""
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ReadingError(f"relations: {error}") from None
    return tuple(_relation(name, dict(table)) for name, table in tables.items())


@cache
def relations() -> tuple[Relation, ...]:
    """The shipped table, in its order."""
    return read_relations(
        resources.files("fieldvoice.quantity").joinpath("relations.toml").read_text("utf-8"))


def _relation(name: str, table: dict[str, Any]) -> Relation:
    where = f"relations, [{name}]:"
    pair, single = {"lower", "higher"} & table.keys(), {"reading", "at_most"} & table.keys()
    if len(pair) + len(single) != 2 or len(pair) == 1:
        raise ReadingError(f"{where} give lower and higher, or reading and at_most")
    if not isinstance(table.get("because"), str):
        raise ReadingError(f"{where} because is missing: give the reason in one sentence")
    lower = _side(where, table.pop("lower", None) or table.pop("reading"))
    higher = _side(where, table.pop("higher")) if pair else None
    if higher is not None and higher.dimension != lower.dimension:
        raise ReadingError(f"{where} a {lower.dimension} is not compared with a {higher.dimension}")
    slack, fresh = table.pop("slack", None), table.pop("fresh", None)
    try:
        found = Relation(
            name, table.pop("because"), lower, higher,
            slack_si=_slack(where, slack, lower.dimension) if slack else 0.0,
            fresh_s=amount_si(f"{where} fresh", fresh, "time") if fresh else None,
            stages=tuple(table.pop("stages", ())), until=tuple(table.pop("until", ())), **table)
    except TypeError:
        known = ", ".join(f for f in Relation.__dataclass_fields__ if not f.endswith(("si", "_s")))
        raise ReadingError(f"{where} unknown field among {', '.join(table)}: give one of {known}"
                           ) from None
    return _checked(where, found)


def _side(where: str, text: str) -> Side:
    worked, of, quantity = text.rpartition(" of ")
    if quantity not in quantities():
        raise ReadingError(f"{where} unknown quantity {quantity!r}")
    if of and (worked not in WORKED or quantities()[quantity].dimension != "pressure"):
        raise ReadingError(f"{where} {text!r} is not worked out: give {' or '.join(WORKED)} "
                           "of a pressure")
    return Side(quantity, worked)


def _slack(where: str, text: str, dimension: str) -> float:
    difference = "temperature difference" if dimension == "temperature" else dimension
    return step_si(f"{where} slack", text, difference)


def _checked(where: str, found: Relation) -> Relation:
    """The relation; its amounts are tried now, so that a slip is told when the table is read."""
    tried: Mapping[str, tuple[str, str]] = {
        "at_most": (found.at_most, found.lower.quantity),
        "after_at_most": (found.after_at_most, found.after),
    }
    if bool(found.after) != bool(found.after_at_most) or (
            found.after and found.after not in quantities()):
        raise ReadingError(f"{where} after names a quantity, and goes with after_at_most")
    for text, quantity in tried.values():
        if text:
            found.amount(text, quantity, 101_325.0)
    return found
