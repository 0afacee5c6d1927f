"""Kinds of steps: which are only done, and which are read, waited for, chosen or confirmed."""

from __future__ import annotations

from fieldvoice.jobstate.state import JobState
from fieldvoice.procedure.step import Step


def kind(step: Step) -> str | None:
    """One of `depths.KINDS`, by what comes first in the work; None for a step that is only done."""
    if step.gate:
        return "gates"
    if step.needs or step.know:
        return "readings"
    if step.hold:
        return "holds"
    return "choices" if step.choices else None


def plain(state: JobState, step: Step) -> bool:
    """A step that is only done: nothing is read, awaited, chosen, confirmed or acknowledged.

    A caution that must be acknowledged makes a step more than that until it has been.
    """
    return not (step.gate or step.always or step.repeat or _waits(step)) and not any(
        state.procedure.cautions[name].acknowledge and name not in state.acknowledged
        for name in step.cautions)


def bare_gate(state: JobState, step: Step) -> bool:
    """A gate that one word confirms: nothing is read there, and nothing acknowledged, ever."""
    return step.gate and not (step.repeat or _waits(step) or state.procedure.acknowledges(step))


def gate_before_hold(state: JobState, step: Step) -> bool:
    """A gate that the start of its hold confirms."""
    starts = step.hold is not None and not (step.needs or step.choices)
    return step.gate and starts and not state.procedure.acknowledges(step)


def _waits(step: Step) -> bool:
    asks = step.needs or step.know or step.ways
    return bool(asks or step.hold or step.timer or step.check or step.ending)
