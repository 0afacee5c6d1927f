"""Which thresholds of confidence cost the technician least."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

from fieldvoice.dialogue.registry import ONLY_READ
from fieldvoice.language.intents import NotUnderstood
from fieldvoice.training.evaluate.scoring import Judged

STEPS = [*(k / 20 for k in range(20)), 0.97, 0.98, 0.99]


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
    harmless = isinstance(line.heard, ONLY_READ)
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
    """(accept from, ignore below, cost a line) of least cost."""
    choices = [
        (cost_of(lines, a, b, costs, False) + cost_of(talk, a, b, costs, True), a, b)
        for a, b in product(STEPS, STEPS)
        if b <= a
    ]
    total, accept, ignore = min(choices)
    return accept, ignore, total / (len(lines) + len(talk))


@dataclass(frozen=True)
class Choice:
    """What becomes of lines and talk if they are accepted from here on."""

    accept_from: float
    acted_on: float  # share of the lines: right, without a question
    wrong_value: float  # share of the lines
    wrong_command: float
    talk_accepted_per_hour: float
    cost: float  # a line, with the cheapest threshold below which lines are ignored


def choices(
    lines: Sequence[Judged], talk: Sequence[Judged], talk_hours: float, costs: Costs
) -> list[Choice]:
    """The same lines under every threshold worth a look."""
    return [
        _choice(accept, lines, talk, talk_hours, costs)
        for accept in (0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.93, 0.95, 0.97, 0.98, 0.99)
    ]


def _choice(accept: float, lines: Sequence[Judged], talk: Sequence[Judged], talk_hours: float,
            costs: Costs) -> Choice:  # fmt: skip
    def taken(line: Judged) -> bool:
        understood = not isinstance(line.heard, NotUnderstood)
        return understood and (line.confidence >= accept or isinstance(line.heard, ONLY_READ))

    def share(kind: str) -> float:
        return sum(taken(line) and getattr(line, kind) for line in lines) / len(lines)

    talked = sum(taken(t) and (t.wrong_value or t.wrong_command) for t in talk)
    cost = min(
        cost_of(lines, accept, ignore, costs, False) + cost_of(talk, accept, ignore, costs, True)
        for ignore in STEPS
        if ignore <= accept
    )
    return Choice(
        accept, share("same_meaning"), share("wrong_value"), share("wrong_command"),
        talked / talk_hours if talk_hours else 0.0, cost / (len(lines) + len(talk)),
    )  # fmt: skip
