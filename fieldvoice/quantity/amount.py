"""The one parser of amounts: text such as "450psig", "65 °F" or "0.6 oz/ft" to value and unit."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from fieldvoice.quantity.constants import PA_PER_ATM
from fieldvoice.quantity.convert import one_in_si, to_si
from fieldvoice.quantity.errors import ReadingError
from fieldvoice.quantity.units import UNITS, Unit
from fieldvoice.quantity.written_units import find, scale, usual

_TEXT = re.compile(
    r"\s*(?P<number>[-+\u2212]?(?:\d[\d,]*\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)"
    r"\s*(?P<unit>[^\d\s].*?)?\s*", re.DOTALL
)
_GROUPS = re.compile(r"[-+\u2212]?[1-9]\d{0,2}(,\d{3})+(?![\d,]).*")  # 1,250 but not 4,4 or 0,400


@dataclass(frozen=True)
class Amount:
    """A value with its unit."""

    value: Decimal
    unit: Unit


def read_amount(
    name: str, text: str, dimension: str, *, default_unit: str | None = None,
    zero_said: bool = False,
) -> Amount:
    """The amount that a text gives; `name` is what an error calls the input.

    `dimension`: a key of units.SI_UNITS. `default_unit`: what a number alone is in. `zero_said`:
    refuse a pressure such as "28bar" that says nothing of its zero, which else is absolute.
    Raises ReadingError without a number or unit, or for a unit that does not measure the dimension.
    """
    match = _TEXT.fullmatch(text)
    if match is None:
        raise ReadingError(f"{name} is {text!r}: write a number and a unit ({usual(dimension)})")
    word = match["unit"] or default_unit or ""
    if not word:
        raise ReadingError(f"{name} is {text!r}, without a unit: add one of {usual(dimension)}")
    value = _number(name, text, match["number"])
    return Amount(value, _unit(name, text, word, dimension, zero_said))


def amount_si(
    name: str, text: str, dimension: str, *, default_unit: str | None = None,
    zero_said: bool = False, atmosphere_pa: float = PA_PER_ATM,
) -> float:
    """The same in SI (units.SI_UNITS; pressures absolute); raises ReadingError below absolute zero.

    `atmosphere_pa`: the air that gauge and vacuum scales count from.
    """
    found = read_amount(name, text, dimension, default_unit=default_unit, zero_said=zero_said)
    si = to_si(found.value, found.unit, atmosphere_pa)
    if not math.isfinite(si):
        raise ReadingError(f"{name} is {text!r}: too large to work with")
    if si < 0 and dimension in ("pressure", "temperature"):
        raise ReadingError(f"{name} is {text!r}: below absolute zero; check the sign and the unit")
    return si


def step_si(name: str, text: str, dimension: str, *, default_unit: str | None = None) -> float:
    """The smallest step of a gauge in SI: no zero is meant, so "1psi" will do."""
    match = _TEXT.fullmatch(text)
    word = (match and match["unit"]) or default_unit or ""
    found = scale(word) if dimension == "pressure" else None
    if match is not None and found is not None:
        si = float(_number(name, text, match["number"])) * one_in_si(found.gauge)
    else:
        given = read_amount(name, text, dimension, default_unit=default_unit)
        si = float(given.value) * one_in_si(given.unit)
    if not math.isfinite(si):
        raise ReadingError(f"{name} is {text!r}: too large to work with")
    return si


def _number(name: str, text: str, number: str) -> Decimal:
    if "," in number and not _GROUPS.fullmatch(number):
        raise ReadingError(f"{name} is {text!r}: a comma stands before each three digits of a "
                           "large number, as in 1,250; write decimals with a point, as in 4.4")
    try:
        return Decimal(number.replace(",", "").replace("\u2212", "-"))
    except InvalidOperation:  # an exponent beyond what a Decimal can have
        raise ReadingError(f"{name} is {text!r}: too large to work with") from None


def _unit(name: str, text: str, word: str, dimension: str, zero_said: bool) -> Unit:
    bare = scale(word) if dimension == "pressure" else None
    if bare is not None:
        if not bare.absolute or (zero_said and bare.write):
            raise ReadingError(
                f"{name} is {text!r}: {word} does not say its zero; write {bare.write}")
        return UNITS[bare.absolute]
    found = find(word, dimension)
    if found is None:
        raise ReadingError(
            f"{name} is {text!r}: unit {word!r} is not known as a {dimension}; "
            f"use {usual(dimension)}")
    return found
