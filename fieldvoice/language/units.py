"""What a line says of units: names, and lines for a unit that is not open."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from fieldvoice.language import intents, refusals
from fieldvoice.language.intents import Intent, NotUnderstood
from fieldvoice.language.numbers import WORDS
from fieldvoice.language.speech_text import say_number

_KINDS = {"unit": "unit", "indoor": "indoor", "outdoor": "outdoor unit"}
_LEAST_BARE = 100  # a smaller number without a name or unit could belong to the unit's own


class Kind(str):
    """A sort of unit."""


@dataclass(frozen=True)
class UnitName:
    """A unit as it was named; `name` is None where no unit has that number."""

    name: str | None
    typed: bool  # in digits, so that it is clear where the name ends


def named(kind: Kind, number: Decimal, *, typed: bool = False) -> UnitName:
    """ "unit", 2 -> "unit two"."""
    if number != int(number) or not 1 <= number <= 99:
        return UnitName(None, typed)
    return UnitName(f"{_KINDS[kind]} {say_number(number)}", typed)


def opened(unit: UnitName) -> Intent:
    """Go on with it."""
    return _no_unit() if unit.name is None else intents.OpenUnit(unit.name)


def begun(unit: UnitName) -> Intent:
    """Begin it."""
    return _no_unit() if unit.name is None else intents.BeginUnit(unit.name)


def begun_with(line: str) -> Intent:
    """ "new unit 2 nitrogen-test": the unit, and its own procedure."""
    _, *words, number, procedure = line.lower().replace(" with ", " ").split()
    kind = "outdoor" if "outdoor" in words else "indoor" if "indoor" in words else "unit"
    value = Decimal(number) if number.isdecimal() else WORDS.get(number)
    if value is None:
        return _no_unit()
    unit = named(Kind(kind), value)
    return _no_unit() if unit.name is None else intents.BeginUnit(unit.name, procedure)


def addressed(unit: UnitName, said: Intent) -> Intent:
    """A line for it; a small bare number could be part of the unit's own."""
    if unit.name is None:
        return _no_unit()
    if isinstance(said, NotUnderstood):
        return said
    if not unit.typed and isinstance(said, intents.Reading) and _is_bare(said):
        kind, reason = refusals.REFUSALS["asked_unit_number"]
        return NotUnderstood(reason, kind)
    return intents.ForUnit(unit.name, said)


def _is_bare(said: intents.Reading) -> bool:
    return said.unit is None and said.quantity is None and abs(said.value) < _LEAST_BARE


def _no_unit() -> NotUnderstood:
    kind, reason = refusals.NO_UNIT
    return NotUnderstood(reason, kind)
