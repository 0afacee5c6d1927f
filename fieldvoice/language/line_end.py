"""How far the words heard so far are a whole line, and how long a silence has to be to end it.

What must not be cut is a figure: "four hundred ... twelve ... microns" is said with pauses while a
gauge is read, and its beginning is a figure too. Where a command may go on ("next step"), nobody
pauses, or both parts stand for themselves ("start the hold", "four hundred microns").
"""

from __future__ import annotations

from enum import Enum
from functools import cache, lru_cache

from fieldvoice.language.grammar import grammar
from fieldvoice.language.intents import NotUnderstood
from fieldvoice.language.parser import understand, what_may_follow

FIGURES = ("signed", "small_signed", "count", "inch_count", "unit", "duration")  # rules


class Growth(Enum):
    """What may become of the words; the value is the silence in seconds that ends them."""

    WHOLE = 0.4  # nothing of it can grow that is said with pauses
    MAY_GROW = 0.6  # it ends in a figure that a number or a unit may go on
    HALF_SAID = 1.2  # no sentence


SHORTEST_S = Growth.WHOLE.value


def silence_s(words: str) -> float:
    """After how many seconds of silence these words are taken as a line."""
    return growth(words).value


@lru_cache(maxsize=256)
def growth(words: str) -> Growth:
    """How far heard words (not typed ones) are a whole line."""
    if isinstance(understand(words, typed=False), NotUnderstood):
        return Growth.HALF_SAID
    return Growth.MAY_GROW if _ends_in_open_figure(words) else Growth.WHOLE


def _ends_in_open_figure(words: str) -> bool:
    *_, last = grammar().tokens(words, typed=False)
    if last.type not in _parts(first=False):
        return False
    inside, begins = _rules(), _parts(first=True)
    return any(rule in inside or symbol in begins for rule, symbol in what_may_follow(words))


def _rules() -> frozenset[str]:
    return _parts(first=False) & grammar().rules.keys()


@cache
def _parts(*, first: bool) -> frozenset[str]:
    """The rules and word lists that figures are made of, or only those that can come first."""
    found, agenda = set(FIGURES), list(FIGURES)
    while agenda:
        for rule in grammar().rules.get(agenda.pop(), ()):
            new = {s.name for s in (rule.expansion[:1] if first else rule.expansion)} - found
            found |= new
            agenda += new
    return frozenset(found)
