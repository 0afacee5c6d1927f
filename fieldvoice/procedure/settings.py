"""What a procedure sets at its head: limits, criteria, cautions; and where a part of it stands."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from fieldvoice.errors import FieldvoiceError


@dataclass(frozen=True)
class Place:
    """Where something stands; both count from 1. `file` is set for what was included."""

    line: int = 0
    column: int = 0
    file: str = ""

    def __str__(self) -> str:
        where = f"line {self.line}, column {self.column}"
        return f"{self.file}, {where}" if self.file else where


NOWHERE = Place()


class ProcedureError(FieldvoiceError, ValueError):
    """A fault in a procedure: what is wrong, where, and what to do about it."""

    def __init__(self, place: Place, what: str, advice: str) -> None:
        super().__init__(f"{place}: {what}; {advice}")
        self.place, self.what, self.advice = place, what, advice
        self.line, self.column = place.line, place.column


@dataclass(frozen=True)
class Limit:
    """A named setting of the procedure: a value with its unit, and who says so.

    With a `figure` (a key of derived_limits.FIGURES) the value counts only until `of` was read.
    """

    name: str
    value: Decimal
    unit: str
    source: str
    place: Place = NOWHERE
    figure: str = ""
    of: str = ""  # a quantity

    def __str__(self) -> str:
        return f"{self.value:,} {self.unit}"


@dataclass(frozen=True)
class Criterion:
    """Other values for some limits, taken together from one document."""

    name: str
    document: str
    settings: tuple[Limit, ...]
    place: Place = NOWHERE


@dataclass(frozen=True)
class Caution:
    """A warning spoken before a step."""

    name: str
    text: str
    acknowledge: bool = False  # the step waits until it is acknowledged aloud
    place: Place = NOWHERE
