"""Text as a general recognizer writes it ("1,412 PSI.") into the words that were said.

Figures are said again in words, and then the line is understood by the same grammar as every other
recognizer's. That is generous: of the ways to say the figures (nine hundred sixteen, nine sixteen,
nine one six) the first that the grammar knows counts, and "4,300,90." becomes "four thousand three
hundred ninety" and so 4,390, although nobody would read it so.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from functools import cache

from fieldvoice.language.decoding_graph import words as grammar_words
from fieldvoice.language.intents import NotUnderstood
from fieldvoice.language.numbers import ONES
from fieldvoice.language.parser import understand
from fieldvoice.language.speech_text import say_number

_GROUPS = re.compile(r"\d{1,3}(?:,\d{3})+(?!\d)")  # 19,725
_DECIMAL = re.compile(r"(\d*)\.(\d+)")
_SIGNS = {
    "%": " percent ", "°f": " degrees fahrenheit ", "°": " degrees ", "½": " and a half ",
    "&": " and ", "+": " plus ",
}  # fmt: skip
_MINUS = re.compile(r"(?<![\w.])[-\u2212](?=\d)")
_SPELLED = {
    "psi": "p s i", "psig": "p s i g", "psia": "p s i a", "ok": "okay", "o": "oh", "oz": "ounces",
    "lb": "pound", "lbs": "pounds", "ft": "feet", "f": "fahrenheit", "c": "celsius",
}  # fmt: skip
_ORDINAL = re.compile(r"(\d)(?:st|nd|rd|th)\b")


def words_of(text: str) -> list[str]:
    """The words of a written line: the first wording that the grammar understands, or the first."""
    wordings = [_words(text, say) for say in (_cardinal, _in_pairs, _one_by_one)]
    known = (w for w in wordings if not _is_unknown(" ".join(w)))
    return next(known, wordings[0])


def _is_unknown(line: str) -> bool:
    return isinstance(understand(line, typed=False), NotUnderstood)


def _words(text: str, say: Callable[[str], str]) -> list[str]:
    text = _GROUPS.sub(lambda m: m.group().replace(",", ""), text.lower())
    for sign, word in _SIGNS.items():
        text = text.replace(sign, word)
    text = _ORDINAL.sub(r"\1", _MINUS.sub(" minus ", text))
    text = _DECIMAL.sub(lambda m: f" {say(m[1])} point {_one_by_one(m[2])} ", text)
    text = re.sub(r"\d+", lambda m: f" {say(m.group())} ", text)
    pieces = re.sub(r"[^a-z' ]", " ", text).split()
    return _joined([word for piece in pieces for word in _SPELLED.get(piece, piece).split()])


def _cardinal(figures: str) -> str:
    """A whole number; figures with a nought in front, or too many of them, are said one by one."""
    if not figures:
        return ""
    if (figures[0] == "0" and len(figures) > 1) or len(figures) > 5:
        return _one_by_one(figures)
    return say_number(Decimal(figures))


def _in_pairs(figures: str) -> str:
    """916: nine sixteen; 1205: twelve oh five; 09: oh nine."""
    if len(figures) == 2 and figures[0] == "0":
        return f"oh {ONES[int(figures[1])]}"
    if len(figures) not in (3, 4) or figures.endswith("00") or figures[0] == "0":
        return _cardinal(figures)
    return f"{_cardinal(figures[:-2])} {_in_pairs(figures[-2:])}"


def _one_by_one(figures: str) -> str:
    return " ".join(ONES[int(figure)] for figure in figures)


@cache
def _known() -> frozenset[str]:
    return frozenset(grammar_words())


def _joined(words: list[str]) -> list[str]:
    """Two words that the grammar writes as one ("super heat") are one."""
    found: list[str] = []
    known = _known()
    for word in words:
        before = found[-1] if found else ""
        if before and before + word in known and not {before, word} <= known:
            found[-1] += word
        else:
            found.append(word)
    return found
