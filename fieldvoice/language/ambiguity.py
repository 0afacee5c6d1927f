"""The question back for a phrase that can be two numbers: both are said, none is taken."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from fieldvoice.language.numbers import decimal
from fieldvoice.language.speech_text import say_number


class Doubt(str):
    """What a phrase could be: "forty two, or four point two"."""


def either(one: Decimal | str, other: Decimal | str) -> Doubt:
    """Both ways, in words."""
    said = [say_number(way) if isinstance(way, Decimal) else way for way in (one, other)]
    return Doubt(f"{said[0]}, or {said[1]}")


def one_or_two(parts: Sequence[Decimal]) -> Doubt:
    """twelve | ten: 1210, or 12 and 10."""
    first, second = parts
    return either(first * 100 + second, f"{say_number(first)} and {say_number(second)}")


def point_or_hundred(parts: Sequence[Decimal]) -> Doubt:
    """twelve | five: 12.5, or 1205."""
    return either(decimal([parts[0], str(parts[1])]), parts[0] * 100 + parts[1])


def point_or_tens(parts: Sequence[Decimal]) -> Doubt:
    """four | two: 4.2, or 42."""
    return either(decimal([parts[0], str(parts[1])]), parts[0] * 10 + parts[1])


def range_of(parts: Sequence[Decimal], scale: int) -> Doubt:
    """four | five hundred: from 400 to 500, or 4500."""
    first, second = (part * scale for part in parts)
    return either(f"{say_number(first)} to {say_number(second)}", first * 10 + second)


def part_of(parts: Sequence[Decimal], scale: int) -> Doubt:
    """a | half, of hundred: 100.5, or 150."""
    count, part = parts
    return either(count * scale + part, (count * scale * (1 + part)).quantize(Decimal(1)))
