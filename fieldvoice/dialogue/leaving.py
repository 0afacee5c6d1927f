"""Leaving a step undone, or the job unfinished: for a reason, or after a yes."""

from __future__ import annotations

from fieldvoice.dialogue import pending_question, prompts, steps
from fieldvoice.dialogue.safeguards import watch
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate import events as e
from fieldvoice.language import intents as i


def skip(turn: Turn, intent: i.Skip) -> None:
    """Leave the open step undone; asks for the reason when none is said."""
    if intent.reason:
        pending_question.skip_for(turn, intent.reason)
    else:
        pending_question.ask_reason(turn, intent)


def not_applicable(turn: Turn, intent: i.NotApplicable) -> None:
    """Leave the open step undone because it does not apply; a gate wants a reason all the same."""
    step = turn.state.open_step
    if step is not None and step.gate:
        pending_question.ask_reason(turn, intent)
    else:
        steps.skip(turn, "not applicable")


def finish_job(turn: Turn, intent: i.FinishJob) -> None:
    """Close the job; asks while a step is open."""
    step = turn.state.open_step
    assert step is not None
    assert turn.line is not None
    if watch.asks(turn, i.FinishJob()):
        return
    if step.ending and not turn.state.unmet() and not turn.state.unacknowledged():
        steps.leave(turn)
        return
    turn.emit(e.Asked(turn.line, "finish", intent.to_dict()))
    turn.ask(f"Step {prompts.step_words(turn.state)} is still open. Finish the job now? "
             "Say yes or no.")
