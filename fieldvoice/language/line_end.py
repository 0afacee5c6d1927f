"""How far the words heard so far are a whole line, and how long a silence has to be to end it.

What must not be cut is a figure: "four hundred ... twelve ... microns" is said with pauses while a
gauge is read, and its beginning is a figure too. Where a command may go on ("next step"), nobody
pauses, or both parts stand for themselves ("start the hold", "four hundred microns"). What the job
waits for tells a figure that is whole ("four twelve" of a vacuum in microns) from one that is not.
"""

from __future__ import annotations

from collections.abc import Callable
from enum import Enum
from functools import cache, lru_cache

from fieldvoice.language.grammar import grammar
from fieldvoice.language.intents import Intent, NotUnderstood, Reading, Readings
from fieldvoice.language.parser import so_far, understand

WaitsFor = Callable[[Intent], bool]  # whether the job waits for what was said

FIGURES = ("signed", "small_signed", "count", "inch_count", "unit", "duration")  # rules
FOR_UNIT = "addressed"  # the rule of a sentence that comes after the name of its unit
SHORTEST_S = 0.4  # no shorter silence ends a line
# With one of these a figure goes on behind a pause: "four hundred ... twelve", "three eighty ...
# five", "four ... hundred". They stand for the digits and tens beside them.
GOES_ON_WITH = ("five", "fifteen", "fifty", "hundred", "thousand")


def _nothing(said: Intent) -> bool:
    """Nothing is waited for."""
    return False


class LineEnd(Enum):
    """What may become of the words."""

    WHOLE = "a sentence, and nothing of it can grow that is said with pauses"
    READ = "the reading that the job waits for, and what it can grow to is not"
    READ_SO_FAR = "the reading that the job waits for, which can grow to another one"
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
        return self not in (LineEnd.HALF_SAID, LineEnd.NO_LINE)

    @property
    def may_go_on(self) -> bool:
        """Whether what follows after a pause may belong to them."""
        return self not in (LineEnd.WHOLE, LineEnd.NO_LINE)


_SILENCE_S = {
    LineEnd.WHOLE: SHORTEST_S,
    LineEnd.READ: SHORTEST_S,
    LineEnd.READ_SO_FAR: 0.7,
    LineEnd.MAY_GROW: 0.8,
    LineEnd.HALF_SAID: 1.2,
    LineEnd.NO_LINE: 0.6,
}


def line_end(words: str, waits_for: WaitsFor = _nothing) -> LineEnd:
    """How far heard words (not typed ones) are a whole line, where the job waits for something."""
    end, meaning = _by_words(words)
    if end is LineEnd.MAY_GROW and isinstance(meaning, Reading) and waits_for(meaning):
        grown = any(map(waits_for, _grown(words)))
        return LineEnd.READ_SO_FAR if grown else LineEnd.READ
    return end


@lru_cache(maxsize=256)
def _by_words(words: str) -> tuple[LineEnd, Intent]:
    """What the grammar alone says, and what they mean if nothing follows."""
    meaning, follows = so_far(words)
    if isinstance(meaning, NotUnderstood):
        return LineEnd.HALF_SAID if follows else LineEnd.NO_LINE, meaning
    *_, last = grammar().tokens(words, typed=False)
    in_figure = last.type in _parts(first=False)
    grows = any(
        symbol == FOR_UNIT or (in_figure and _goes_on_figure(rule, symbol))
        for rule, symbol in follows
    )
    return LineEnd.MAY_GROW if grows else LineEnd.WHOLE, meaning


@lru_cache(maxsize=256)
def _grown(words: str) -> tuple[Reading, ...]:
    """Readings that these words begin."""
    said = (understand(f"{words} {word}", typed=False) for word in GOES_ON_WITH)
    return tuple(one for one in said if isinstance(one, Reading))


def one_line(first: str, second: str, waits_for: WaitsFor = _nothing) -> bool:
    """Whether words with a pause between them are one line that means more than one by one.

    Not where the job waits for both, one by one, and not for what they mean together.
    """
    whole, apart = _together(first, second)
    one_by_one = tuple(reading for part in apart for reading in _readings(part))
    if isinstance(whole, NotUnderstood) or _readings(whole) == one_by_one:
        return False
    return waits_for(whole) or not all(map(waits_for, apart))


@lru_cache(maxsize=256)
def _together(first: str, second: str) -> tuple[Intent, tuple[Intent, ...]]:
    """What two parts mean as one line, and what they mean one by one."""
    apart = tuple(understand(part, typed=False) for part in (first, second))
    return understand(f"{first} {second}", typed=False), apart


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
