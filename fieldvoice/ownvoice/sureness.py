"""How much surer, or less, a speaker's lines are than those of others: one number."""

from __future__ import annotations

import math
from collections.abc import Sequence

from fieldvoice.ownvoice.verdict import Hearing

USUAL = 0.7  # how far speakers differ, as a logarithm of odds (judgement)
LEAST, MOST = -1.5, 0.5  # a line taken wrongly costs more than a question
HEARD_TWICE = 0.5  # two hearings of a line tell hardly more than one
_EDGE = 1e-6
_ROUNDS = 30


def sureness(heard: Sequence[Hearing]) -> float:
    """What the logarithm of the odds of confidence is to be raised by; 0 where it cannot be told.

    The likeliest one for these hearings if speakers differ by USUAL (logistic regression with the
    odds as offset, by Newton's method), and 0 where that is not beyond its own standard error.
    """
    told = [(_odds(one.sure), float(one.right)) for one in heard if one.sure is not None]
    found, weight = 0.0, 1.0 / USUAL**2
    for _ in range(_ROUNDS):
        sure = [1.0 / (1.0 + math.exp(-(odds + found))) for odds, _ in told]
        slope = HEARD_TWICE * sum(right - p for (_, right), p in zip(told, sure, strict=True))
        weight = HEARD_TWICE * sum(p * (1.0 - p) for p in sure) + 1.0 / USUAL**2
        found += max(-1.0, min(1.0, (slope - found / USUAL**2) / weight))
    return round(max(LEAST, min(MOST, found)), 3) if abs(found) > weight**-0.5 else 0.0


def _odds(sure: float) -> float:
    inside = max(_EDGE, min(1.0 - _EDGE, sure))
    return math.log(inside / (1.0 - inside))
