"""Whether a step applies, by what was answered and read so far."""

from __future__ import annotations

from fieldvoice.dialogue import prompts
from fieldvoice.dialogue.facts import passing
from fieldvoice.jobstate.state import JobState
from fieldvoice.procedure.step import Step, When


def against(state: JobState, when: When) -> str | None:
    """The answer or reading that speaks against a condition; None: it holds, or is not known."""
    if when.limits:
        last = state.last(when.answer)
        outside = last is not None and state.within(when, last.si) is False
        return prompts.shown(last) if last is not None and outside else None
    answer = state.answer(when.answer)
    return None if answer in when.options else answer


def passed_over(state: JobState, step: Step) -> bool:
    """Whether a step does not apply, was done elsewhere, or is answered already."""
    if any(against(state, when) is not None for when in step.when) or step.name in state.carried:
        return True
    return passing.known_fact(state, step) is not None or passing.known_way(state, step) is not None
