"""What the rules of grammar/facts.lark mean: a fact with its value as text."""
# ruff: noqa: D102  # a method is named for the grammar rule whose meaning it gives

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache

from lark import Token

from fieldvoice.language import numbers
from fieldvoice.language.grammar import grammar
from fieldvoice.language.measure import Measure, Unit
from fieldvoice.language.number_meaning import NumberMeaning, Parts, need, pick
from fieldvoice.language.speech_text import say_number

_LINE = re.compile(
    r"\s*(?:(?:correction|sorry|no|actually|the|our),?\s+(?:the\s+)?)?"
    r"(?P<name>technician|helper|customer|place|equipment(?:\s+number)?"
    r"|(?:outdoor|indoor)\s+serial(?:\s+number)?)"
    r"(?:\s*[:=#]\s*|\s+is\s+|\s+)(?P<value>.*)", re.IGNORECASE | re.DOTALL)
_CALLED = {"equipment": "equipment-number", "outdoor-serial-number": "outdoor-serial",
           "indoor-serial-number": "indoor-serial"}


class Sign(str):
    """A letter of a number or a name, or all of it."""


class About(str):
    """The fact that is asked for."""


@dataclass(frozen=True)
class Told:
    """A fact with its value as text."""

    fact: str
    value: str = ""


def told(rule: str, parts: Parts) -> Told:
    """The fact that a rule fact_... tells; without a value where a name is to follow."""
    name = rule.removeprefix("fact_").replace("_", "-")
    return Told(name, next((_text(part) for part in parts if _text(part)), ""))


def _text(part: object) -> str:
    if isinstance(part, Measure):
        return f"{part.value:f} {part.unit}" if part.unit else f"{part.value:f}"
    return str(part) if isinstance(part, str) else ""


class FactMeaning(NumberMeaning):
    """Rules of grammar/facts.lark."""

    def refrigerant_number(self, parts: Parts) -> Sign:
        return Sign(f"R-{need(parts, Decimal):f}{pick(parts, Sign) or ''}")

    typed_refrigerant = refrigerant_number

    def R_NUMBER(self, token: Token) -> Sign:
        return Sign(f"R-{token[1:].lstrip(' -')}")

    def hydrocarbon(self, parts: Parts) -> Sign:
        return need(parts, Sign)

    def propane(self, parts: Parts) -> Sign:
        return Sign("R-290")

    def isobutane(self, parts: Parts) -> Sign:
        return Sign("R-600a")

    def minus_measure(self, parts: Parts) -> Measure:
        return Measure(-need(parts, Decimal), pick(parts, Unit))

    def oz_per_ft(self, parts: Parts) -> Unit:
        return Unit("oz/ft")

    def g_per_m(self, parts: Parts) -> Unit:
        return Unit("g/m")

    def tube(self, parts: Parts) -> Sign:
        whole, part = divmod(Fraction(need(parts, Decimal)), 1)
        return Sign(f"{whole}-{part}" if whole and part else str(whole or part))

    def typed_tube(self, parts: Parts) -> Decimal:
        return need(parts, Decimal)

    def criterion_hours(self, parts: Parts) -> Sign:
        count = need(parts, Decimal)
        return Sign(f"{say_number(count)}-hour{'' if count == 1 else 's'}".replace(" ", "-"))

    def criterion_one_day(self, parts: Parts) -> Sign:
        return Sign("one-day")

    def criterion_no_loss(self, parts: Parts) -> Sign:
        return Sign("no-loss")

    def code(self, parts: Parts) -> Sign:
        return Sign("".join(f"{p:f}" if isinstance(p, Decimal) else str(p) for p in parts))

    def FACT_LINE(self, token: Token) -> Told:
        found = _LINE.fullmatch(str(token))
        if found is None:
            name, _, value = str(token).partition("=")
            return Told("-".join(name.lower().split()), value.strip())
        name = "-".join(found["name"].lower().split())
        value = found["value"].strip()
        fact = _CALLED.get(name, name)
        return Told(fact, _spelt(value) if fact.endswith(("number", "serial")) else value)


def _spelt(value: str) -> str:
    """A number that was spelt by the radio alphabet, in its letters; any other as it is."""
    said, found = value.lower().replace("x ray", "xray").split(), ""
    for word in said:
        sign = _signs().get(word)
        if sign is None:
            return value
        found += sign
    return found


@cache
def _signs() -> dict[str, str]:
    """Word of the radio alphabet, or figure -> letter or figure, from the grammar itself."""
    found = {}
    for name, alternatives in grammar().rules.items():
        if name.startswith("letter_"):
            for one in alternatives:
                words = [grammar().words_of[symbol.name][0] for symbol in one.expansion]
                found["".join(words)] = name[-1].upper()
    figures = {word: f"{value:f}" for word, value in numbers.WORDS.items() if value < 10}
    return {**found, **figures}
