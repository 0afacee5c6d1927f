"""Whether confidence means something: of what is given 0.9, nine in ten should be right."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from fieldvoice.training.evaluate.alignment import align
from fieldvoice.training.evaluate.scoring import Judged, Result

EDGES = (0.0, 0.2, 0.35, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.99, 1.0)
CERTAIN = 1e-6  # so that one line believed wholly and wrongly does not outweigh all others

Pair = tuple[float, bool]  # confidence, and whether it was right


@dataclass(frozen=True)
class Bin:
    """Those whose confidence lies in low..high."""

    low: float
    high: float
    count: int
    mean_confidence: float
    right: float  # share


def bins(pairs: Sequence[Pair]) -> list[Bin]:
    """Confidence against truth."""
    found = []
    for low, high in pairwise(EDGES):
        inside = [(c, right) for c, right in pairs if low <= c < high or (c == high == 1.0)]
        if inside:
            mean = sum(c for c, _ in inside) / len(inside)
            share = sum(right for _, right in inside) / len(inside)
            found.append(Bin(low, high, len(inside), mean, share))
    return found


def words(results: Sequence[Result]) -> list[Pair]:
    """Confidence of each heard word, and whether it was said at its place in the sentence."""
    return [pair for result in results for pair in _heard_words(result)]


def _heard_words(result: Result) -> list[Pair]:
    right = [said == heard for said, heard in align(result.said, result.heard) if heard is not None]
    return list(zip(result.confidences, right, strict=True))


def lines(judged: Sequence[Judged]) -> list[Pair]:
    """Confidence in the meaning of each line of which any word was heard."""
    return [(line.confidence, line.same_meaning) for line in judged if line.confidence > 0.0]


def surprise(pairs: Sequence[Pair]) -> float:
    """Mean of -ln of the chance that was given to what turned out; least when calibrated."""
    chances = [confidence if right else 1.0 - confidence for confidence, right in pairs]
    return -sum(math.log(max(CERTAIN, chance)) for chance in chances) / len(pairs)
