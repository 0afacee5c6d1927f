"""A job that was closed is opened again: for notes, readings and corrections, or a stage."""

from __future__ import annotations

import fieldvoice
from fieldvoice.dialogue import prompts
from fieldvoice.dialogue.order import open_steps
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate import events as e


def reopen(turn: Turn, reason: str) -> None:
    """Open the job at its last step; it can be finished again from there."""
    turn.emit(e.JobReopened(fieldvoice.__version__, reason))
    state = turn.state
    turn.answer(f"Job {state.job} is open again. What is added now is logged as after its end.")
    left = open_steps.listed(state)
    if left is not None:
        turn.say("answer", *left)
    last = state.open_step
    if last is not None:
        done = any(v.step == last.name for v in state.trail[-1:])
        turn.emit(e.StepOpened(last.stage, last.name, state.visits[last.name] + done))
        turn.say("prompt", prompts.waits_for(turn.state))
