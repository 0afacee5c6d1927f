"""What the rules for numbers and lengths of time compute, one method a rule."""
# ruff: noqa: D102  # a method is named for the grammar rule whose meaning it gives

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from decimal import Decimal
from typing import Any, TypeVar

from lark import Token, Transformer

from fieldvoice.language import numbers
from fieldvoice.language.measure import TIME_UNITS, clock, lasting

Parts = list[Any]
Kind = TypeVar("Kind")


def pick(parts: Sequence[Any], kind: type[Kind]) -> Kind | None:
    """The first part of a kind, or None."""
    return next((part for part in parts if isinstance(part, kind)), None)


def need(parts: Sequence[Any], kind: type[Kind]) -> Kind:
    """The first part of a kind, which the grammar promises."""
    found = pick(parts, kind)
    assert found is not None, f"the grammar gave no {kind.__name__}"
    return found


def all_of(parts: Sequence[Any], kind: type[Kind]) -> list[Kind]:
    """All parts of a kind."""
    return [part for part in parts if isinstance(part, kind)]


class NumberMeaning(Transformer[Token, Any]):
    """Rules of grammar/numbers.lark; a part is a Decimal, or text for the places after a point."""

    plus = staticmethod(numbers.plus)
    hundreds = staticmethod(numbers.hundreds)
    thousands = staticmethod(numbers.thousands)
    beside = staticmethod(numbers.beside)
    beside_oh = staticmethod(numbers.beside_oh)
    figures = staticmethod(numbers.figures)
    places = staticmethod(numbers.places)
    decimal = staticmethod(numbers.decimal)
    point_thousand = staticmethod(numbers.point_thousand)

    def typed_number(self, parts: Parts) -> Decimal:
        return need(parts, Decimal)

    def minus(self, parts: Parts) -> Decimal:
        return numbers.minus(all_of(parts, Decimal))

    def zero(self, parts: Parts) -> Decimal:
        return Decimal(0)

    def decimal_of_figures(self, parts: Parts) -> Decimal:
        return numbers.decimal([parts[0], numbers.places(parts[1:])])

    def one(self, parts: Parts) -> Decimal:
        return Decimal(1)

    def times_thousand(self, parts: Parts) -> Decimal:
        return numbers.times_thousand(parts)

    def halves(self, parts: Parts) -> Decimal:
        return numbers.share(all_of(parts, Decimal), 2)

    def quarters(self, parts: Parts) -> Decimal:
        return numbers.share(all_of(parts, Decimal), 4)

    def eighths(self, parts: Parts) -> Decimal:
        return numbers.share(all_of(parts, Decimal), 8)

    def sixteenths(self, parts: Parts) -> Decimal:
        return numbers.share(all_of(parts, Decimal), 16)

    def typed_half(self, parts: Parts) -> Decimal:
        return Decimal("0.5")

    def typed_quarter(self, parts: Parts) -> Decimal:
        return Decimal("0.25")

    def typed_three_quarters(self, parts: Parts) -> Decimal:
        return Decimal("0.75")

    def VALUE(self, token: Token) -> Decimal:
        return numbers.typed(token)

    FRACTION = VALUE
    MIXED = VALUE


class TimeMeaning(NumberMeaning):
    """Lengths of time."""

    def COLON_TIME(self, token: Token) -> timedelta:
        return clock(token)

    def typed_hour(self, parts: Parts) -> timedelta:
        return TIME_UNITS["H"]

    def typed_minute(self, parts: Parts) -> timedelta:
        return TIME_UNITS["MIN"]

    def typed_second(self, parts: Parts) -> timedelta:
        return TIME_UNITS["S"]

    def duration(self, parts: Parts) -> timedelta:
        """So many of a unit, or a duration that a rule below it gave."""
        counts, one = all_of(parts, Decimal), need(parts, timedelta)
        return lasting(numbers.plus(counts), one) if counts else one

    typed_duration = duration
    time_and_part = duration

    def decimal_duration(self, parts: Parts) -> timedelta:
        return lasting(self.decimal_of_figures(parts[:2]), need(parts, timedelta))

    def one_time(self, parts: Parts) -> timedelta:
        return need(parts, timedelta)

    def one_time_and(self, parts: Parts) -> timedelta:
        return lasting(1 + numbers.plus(all_of(parts, Decimal)), need(parts, timedelta))

    hour_and_part = one_time_and

    def part_of_time(self, parts: Parts) -> timedelta:
        return lasting(need(parts, Decimal), need(parts, timedelta))

    def half_hour(self, parts: Parts) -> timedelta:
        return timedelta(minutes=30)

    def added_durations(self, parts: Parts) -> timedelta:
        return sum(all_of(parts, timedelta), timedelta())

    clock_duration = added_durations
