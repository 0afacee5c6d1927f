"""Number words and digits to exact Decimals: what each rule of grammar/numbers.lark computes."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

ONES = [
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
    "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen",
    "nineteen",
]  # fmt: skip
TENS = ["zero", "ten", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
WORDS = {word: Decimal(value) for value, word in enumerate(ONES)} | {
    word: Decimal(10 * ten) for ten, word in enumerate(TENS) if ten > 1
}
WORDS["oh"] = Decimal(0)
Numbers = Sequence[Decimal]


def typed(text: str) -> Decimal:
    """Digits as typed: "1,200", "-5", ".6", "1.5e3", "3/8", "1 3/8", "1-3/8"."""
    sign = -1 if text[0] in "-\u2212" else 1
    whole, _, part = text.lstrip("+-\u2212").replace(",", "").replace("-", " ").rpartition(" ")
    top, slash, bottom = part.partition("/")
    value = Decimal(top) / Decimal(bottom) if slash else Decimal(format(Decimal(top), "f"))
    return sign * (Decimal(whole or 0) + value)


def plus(parts: Numbers) -> Decimal:
    """twenty | five -> 25; three | a quarter -> 3.25."""
    return sum(parts, Decimal(0))


def minus(parts: Numbers) -> Decimal:
    """minus | five -> -5, and plain zero for minus zero."""
    return Decimal(0) - parts[0]


def hundreds(parts: Numbers) -> Decimal:
    """four | twelve -> 412."""
    return parts[0] * 100 + plus(parts[1:])


def thousands(parts: Numbers) -> Decimal:
    """four | one hundred -> 4100."""
    return parts[0] * 1000 + plus(parts[1:])


def beside(parts: Numbers) -> Decimal:
    """four | twelve -> 412; twelve | fifty -> 1250."""
    return parts[0] * 100 + parts[1]


def beside_oh(parts: Numbers) -> Decimal:
    """twelve | oh | five -> 1205."""
    return parts[0] * 100 + parts[2]


def figures(parts: Numbers) -> Decimal:
    """four | one | two -> 412."""
    return Decimal(places(parts))


def places(parts: Numbers) -> str:
    """The figures after the point, zeros kept: oh | five -> "05"."""
    return "".join(str(part) for part in parts)


def decimal(parts: Sequence[Decimal | str]) -> Decimal:
    """twenty nine | "9" -> 29.9; "6" alone -> 0.6."""
    whole = parts[0] if len(parts) == 2 else 0
    return Decimal(f"{whole}.{parts[-1]}")


def point_thousand(parts: Numbers) -> Decimal:
    """one | two -> 1200, as in one point two thousand."""
    return times_thousand([Decimal(f"{parts[0]}.{parts[1]}")])


def times_thousand(parts: Numbers) -> Decimal:
    """two | a half -> 2500."""
    return (plus(parts) * 1000).quantize(Decimal(1))


def share(parts: Numbers, of: int) -> Decimal:
    """three | of 8 -> 0.375; no count means one."""
    return (parts[0] if parts else Decimal(1)) / of
