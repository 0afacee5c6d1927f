"""Whether confidence means something, and which thresholds cost the technician least."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise, product

from fieldvoice.acoustic.scoring import Judged, Result, align
from fieldvoice.job.trust import HARMLESS
from fieldvoice.spoken.intents import NotUnderstood

EDGES = (0.0, 0.2, 0.35, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.99, 1.0)


@dataclass(frozen=True)
class Bin:
    """Heard words whose confidence lies in low..high."""

    low: float
    high: float
    words: int
    mean_confidence: float
    right: float  # share of the words that were said


def word_bins(results: Sequence[Result]) -> list[Bin]:
    """Confidence of each heard word against whether it was said, at its place in the sentence."""
    pairs = [pair for result in results for pair in _heard_words(result)]
    bins = []
    for low, high in pairwise(EDGES):
        inside = [(c, right) for c, right in pairs if low <= c < high or (c == high == 1.0)]
        if inside:
            mean = sum(c for c, _ in inside) / len(inside)
            share = sum(right for _, right in inside) / len(inside)
            bins.append(Bin(low, high, len(inside), mean, share))
    return bins


def _heard_words(result: Result) -> list[tuple[float, bool]]:
    right = [said == heard for said, heard in align(result.said, result.heard) if heard is not None]
    return list(zip(result.confidences, right, strict=True))


@dataclass(frozen=True)
class Costs:
    """What each outcome of a line costs the technician, in questions asked for nothing."""

    wrong_value: float = 50.0  # a wrong reading in the log, perhaps never noticed
    wrong_command: float = 15.0  # a step passed or a timer stopped, heard at once in the reply
    talk_asked: float = 2.0  # a question that breaks into a talk with someone else
    asked: float = 1.0  # a right line that must be confirmed
    wrong_asked: float = 1.5  # a wrong one: denied, then said again
    lost: float = 2.5  # a line for Fieldvoice that is silently ignored


def cost_of(lines: Sequence[Judged], accept_from: float, ignore_below: float,
            costs: Costs, talk: bool) -> float:  # fmt: skip
    """Sum over lines, were these the thresholds; `talk` lines were not for Fieldvoice."""
    return sum(_cost(line, accept_from, ignore_below, costs, talk) for line in lines)


def _cost(line: Judged, accept_from: float, ignore_below: float, costs: Costs, talk: bool) -> float:
    harmless = isinstance(line.heard, HARMLESS)
    if isinstance(line.heard, NotUnderstood):  # refused or asked back, whatever the confidence
        return 0.0 if talk or line.same_meaning else costs.lost
    if line.confidence < ignore_below:
        return 0.0 if talk else costs.lost
    if line.confidence < accept_from and not harmless:
        right_or_wrong = costs.asked if line.same_meaning else costs.wrong_asked
        return costs.talk_asked if talk else right_or_wrong
    if line.same_meaning:
        return 0.0
    if harmless:
        return costs.wrong_asked
    return costs.wrong_value if line.wrong_value else costs.wrong_command


def best_thresholds(
    lines: Sequence[Judged], talk: Sequence[Judged], costs: Costs
) -> tuple[float, float, float]:
    """(accept from, ignore below, cost a line) of least cost, both in steps of 0.05."""
    steps = [k / 20 for k in range(20)] + [0.97, 0.98, 0.99]
    choices = [
        (cost_of(lines, a, b, costs, False) + cost_of(talk, a, b, costs, True), a, b)
        for a, b in product(steps, steps)
        if b <= a
    ]
    total, accept, ignore = min(choices)
    return accept, ignore, total / (len(lines) + len(talk))
