"""How far the words heard so far are a whole line, and how long a silence has to be to end it.

What must not be cut is a figure: "four hundred ... twelve ... microns" is said with pauses while a
gauge is read, and its beginning is a figure too. Where a command may go on ("next step"), nobody
pauses, or both parts stand for themselves ("start the hold", "four hundred microns").
"""

from __future__ import annotations

from enum import Enum
from functools import cache, lru_cache

from fieldvoice.language.grammar import grammar
from fieldvoice.language.intents import Intent, NotUnderstood, Readings
from fieldvoice.language.parser import so_far, understand

FIGURES = ("signed", "small_signed", "count", "inch_count", "unit", "duration")  # rules
FOR_UNIT = "addressed"  # the rule of a sentence that comes after the name of its unit
SHORTEST_S = 0.4  # no shorter silence ends a line


class LineEnd(Enum):
    """What may become of the words."""

    WHOLE = "a sentence, and nothing of it can grow that is said with pauses"
    MAY_GROW = "a sentence that ends in a figure which may go on, or names a unit of the job"
    HALF_SAID = "the beginning of a sentence"
    NO_LINE = "no beginning of any sentence"

    @property
    def silence_s(self) -> float:
        """The silence that ends them, in seconds."""
        return _SILENCE_S[self]

    @property
    def is_line(self) -> bool:
        """Whether they are a sentence."""
        return self in (LineEnd.WHOLE, LineEnd.MAY_GROW)

    @property
    def may_go_on(self) -> bool:
        """Whether what follows after a pause may belong to them."""
        return self in (LineEnd.MAY_GROW, LineEnd.HALF_SAID)


_SILENCE_S = {
    LineEnd.WHOLE: SHORTEST_S,
    LineEnd.MAY_GROW: 0.8,
    LineEnd.HALF_SAID: 1.2,
    LineEnd.NO_LINE: 0.6,
}


@lru_cache(maxsize=256)
def line_end(words: str) -> LineEnd:
    """How far heard words (not typed ones) are a whole line."""
    meaning, follows = so_far(words)
    if isinstance(meaning, NotUnderstood):
        return LineEnd.HALF_SAID if follows else LineEnd.NO_LINE
    *_, last = grammar().tokens(words, typed=False)
    in_figure = last.type in _parts(first=False)
    grows = any(
        symbol == FOR_UNIT or (in_figure and _goes_on_figure(rule, symbol))
        for rule, symbol in follows
    )
    return LineEnd.MAY_GROW if grows else LineEnd.WHOLE


@lru_cache(maxsize=256)
def one_line(first: str, second: str) -> bool:
    """Whether words with a pause between them are one line that means more than one by one."""
    whole = understand(f"{first} {second}", typed=False)
    apart = [understand(part, typed=False) for part in (first, second)]
    one_by_one = [reading for part in apart for reading in _readings(part)]
    return not isinstance(whole, NotUnderstood) and _readings(whole) != tuple(one_by_one)


def _readings(said: Intent) -> tuple[Intent, ...]:
    return said.readings if isinstance(said, Readings) else (said,)


def _goes_on_figure(rule: str, symbol: str) -> bool:
    """Whether a rule that is not at its end yet is of a figure, or a figure comes next in it."""
    return (rule in _parts(first=False) and rule in grammar().rules) or symbol in _parts(first=True)


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
