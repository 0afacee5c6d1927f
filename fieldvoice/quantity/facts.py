"""The table of facts in facts.toml: what a job may be told of place, people and equipment."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from functools import cache
from importlib import resources
from typing import Any

from fieldvoice.quantity.errors import ReadingError
from fieldvoice.quantity.units import SI_UNITS

KINDS = ("refrigerant", "tube", "criterion", "amount", "choice", "text")


@dataclass(frozen=True)
class Fact:
    """Something that a job may be told; `low` and `high` are in `unit`."""

    name: str  # "covered-length"
    called: str  # "covered length"
    kind: str  # one of KINDS
    example: str  # a value, as --site takes it
    said: str  # how it is said: "refrigerant is r four fifty four b"
    use: str  # what it is for
    whole_job: bool = False  # holds for every unit of the job
    dimension: str = ""  # of an amount: a key of units.SI_UNITS
    unit: str = ""  # what a number alone is in
    low: float = 0.0
    high: float = 0.0
    choices: Mapping[str, tuple[str, ...]] = field(default_factory=dict)  # value -> other words
    reading: str = ""  # the quantity whose reading says the same
    instead: str = ""  # another fact that does in its place
    lasting: bool = False  # that is read once


def read_facts(text: str) -> dict[str, Fact]:
    """Read the TOML table; raises ReadingError naming the fact and the field at fault."""
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ReadingError(f"facts: {error}") from None
    return {name: _fact(name, dict(table)) for name, table in tables.items()}


def _fact(name: str, table: dict[str, Any]) -> Fact:
    where = f"facts, [{name}]:"
    if table.get("kind") not in KINDS:
        raise ReadingError(f"{where} kind is {table.get('kind')!r}; give one of {', '.join(KINDS)}")
    if table["kind"] == "amount":
        low_high = table.pop("range", None)
        if not isinstance(low_high, list) or len(low_high) != 2 or not low_high[0] < low_high[1]:
            raise ReadingError(f"{where} range is {low_high!r}; give [lowest, highest]")
        if table.get("dimension") not in SI_UNITS or not table.get("unit"):
            raise ReadingError(f"{where} an amount needs a dimension and a unit")
        table["low"], table["high"] = low_high
    elif table["kind"] == "choice" and len(table.get("choices", ())) < 2:
        raise ReadingError(f"{where} a choice needs two choices or more")
    table["choices"] = {k: tuple(v) for k, v in table.get("choices", {}).items()}
    unknown = table.keys() - {f.name for f in fields(Fact)}
    if unknown:
        raise ReadingError(f"{where} unknown field {sorted(unknown)[0]!r}")
    try:
        return Fact(name=name, **table)
    except TypeError as error:
        raise ReadingError(f"{where} {error}") from None


@cache
def facts() -> dict[str, Fact]:
    """The shipped table, by name."""
    return read_facts(
        resources.files("fieldvoice.quantity").joinpath("facts.toml").read_text("utf-8"))


def called(name: str) -> str:
    """What a reply calls a fact; names that the table lacks lose their hyphens."""
    known = facts().get(name)
    return name.replace("-", " ") if known is None else known.called
