"""Text as a general recognizer writes it ("1,412 PSI.") into the words that were said.

Figures are said again in words, and then the line is understood by the same grammar as every other
recognizer's. That is generous: "4,300,90." becomes "four thousand three hundred ninety" and so
4,390, although nobody would read it so.
"""

from __future__ import annotations

import re
from decimal import Decimal

from fieldvoice.spoken.graph import words as grammar_words
from fieldvoice.spoken.numbers import ONES
from fieldvoice.spoken.saying import say_number

_GROUPS = re.compile(r"\d{1,3}(?:,\d{3})+(?!\d)")  # 19,725
_DECIMAL = re.compile(r"(\d*)\.(\d+)")
_SIGNS = {
    "%": " percent ", "°f": " degrees fahrenheit ", "°": " degrees ", "½": " and a half ",
    "&": " and ", "+": " plus ",
}  # fmt: skip
_MINUS = re.compile(r"(?<![\w.])[-\u2212](?=\d)")
_SPELLED = {"psi": "p s i", "psig": "p s i g", "psia": "p s i a", "ok": "okay"}
_ORDINAL = re.compile(r"(\d)(?:st|nd|rd|th)\b")


def words_of(text: str) -> list[str]:
    """The words of a written line."""
    text = _GROUPS.sub(lambda m: m.group().replace(",", ""), text.lower())
    for sign, word in _SIGNS.items():
        text = text.replace(sign, word)
    text = _ORDINAL.sub(r"\1", _MINUS.sub(" minus ", text))
    text = _DECIMAL.sub(lambda m: f" {_say(m[1])} point {_one_by_one(m[2])} ", text)
    text = re.sub(r"\d+", lambda m: f" {_say(m.group())} ", text)
    pieces = re.sub(r"[^a-z' ]", " ", text).split()
    return _joined([word for piece in pieces for word in _SPELLED.get(piece, piece).split()])


def _say(figures: str) -> str:
    """A whole number; figures with a nought in front, or too many of them, are said one by one."""
    if not figures:
        return ""
    if (figures[0] == "0" and len(figures) > 1) or len(figures) > 5:
        return _one_by_one(figures)
    return say_number(Decimal(figures))


def _one_by_one(figures: str) -> str:
    return " ".join(ONES[int(figure)] for figure in figures)


def _joined(words: list[str]) -> list[str]:
    """Two words that the grammar writes as one ("super heat") are one."""
    found: list[str] = []
    known = set(grammar_words())
    for word in words:
        before = found[-1] if found else ""
        if before and before + word in known and not {before, word} <= known:
            found[-1] += word
        else:
            found.append(word)
    return found
