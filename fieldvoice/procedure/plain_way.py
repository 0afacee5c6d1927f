"""The way from one step to another as the work plainly goes: what a jump would leave out."""

from __future__ import annotations

import heapq
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass

from fieldvoice.procedure.flow import ways
from fieldvoice.procedure.model import Procedure
from fieldvoice.procedure.step import Step


@dataclass(frozen=True)
class PlainWay:
    """Steps from the first to the one before the goal, in order."""

    steps: tuple[str, ...]
    goal: str
    turns: int  # how many ways off the plain one were taken; 0: work leads there by itself


def plain_way(
    procedure: Procedure, start: str, goals: Collection[str], *,
    answer: Callable[[str], str | None] = lambda step: None,
    past: Callable[[Step], str | None] = lambda step: None,
) -> PlainWay | None:
    """The plainest way from a step to the nearest of the goals; None when none leads there.

    `answer` gives what was chosen at a step, where that is known; `past` the step to go on with
    where one is passed over (it does not apply, or was done elsewhere): that is none of the way's.
    Of ways with equally few turns the shortest is taken. The start counts as a goal only when the
    way leads back to it.
    """
    waiting: list[tuple[int, int, str, tuple[str, ...]]] = [(0, 0, start, ())]
    settled: set[str] = set()
    while waiting:
        turns, length, name, came = heapq.heappop(waiting)
        if name in goals and length:
            return PlainWay(came, name, turns)
        if name in settled:
            continue
        if length:
            settled.add(name)
        step = procedure.step(name)
        over = past(step)
        found = _ways(procedure, step, answer(name)) if over is None else [(over, 0)]
        for target, turn in found:
            if target not in settled:
                path = (*came, name) if over is None else came
                heapq.heappush(waiting, (turns + turn, length + 1, target, path))
    return None


def _ways(procedure: Procedure, step: Step, answered: str | None) -> Iterator[tuple[str, int]]:
    """Where a step leads, and whether that is a turn off the plain way."""
    known = step.way(answered) if answered else None
    plain = procedure.destination(step, known.to) if known else plainly_to(procedure, step)
    if step.ending is None and plain is not None:
        yield plain, 0
    for target in ways(procedure, step):
        if target is not None and target != plain:
            yield target, 1


def plainly_to(procedure: Procedure, step: Step) -> str | None:
    """Where a step plainly leads: the first of its ways on, else its `go to` or the step below."""
    on = step.branches + step.choices
    return procedure.destination(step, on[0].to if on else None)
