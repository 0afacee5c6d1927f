"""Taking one of the ways on that the open step offers."""

from __future__ import annotations

from fieldvoice.dialogue import prompts, steps
from fieldvoice.dialogue.depth import listing
from fieldvoice.dialogue.safeguards import safety_class
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate import events as e


def choose(turn: Turn, option: str, *, settled: str = "") -> None:
    """Take one of the choices of the open step.

    `settled`: why it holds, once a contradiction with the job's refrigerant was asked about.
    """
    step = turn.state.open_step
    assert step is not None
    if any(w.name == option for w in step.exits) and not turn.state.unacknowledged():
        _leave_early(turn, option)
        return
    if not any(w.name == option for w in step.choices):
        if safety_class.asks_which(turn, option):
            return
        offered = f" Choose: {prompts.options_words(step)}." if step.choices else ""
        said = option.replace("-", " ").capitalize()
        turn.refuse(f"{said} is no choice here.{offered or ' ' + prompts.waits_for(turn.state)}")
        return
    running = turn.state.hold is not None and turn.state.hold.running
    if turn.state.unacknowledged() or turn.state.unmet() or running:
        turn.refuse(prompts.waits_for(turn.state))
        return
    if not settled and safety_class.asks_whether(turn, option):
        return
    turn.answer(f"{option.replace('-', ' ').capitalize()}.")
    steps.leave(turn, option, settled)


def _leave_early(turn: Turn, option: str) -> None:
    """Take a way out that is open before the step is done."""
    step = turn.state.open_step
    assert step is not None
    way = step.way(option)
    assert way is not None
    assert way.to is not None
    steps.stop_hold(turn)
    turn.answer(f"{option.replace('-', ' ').capitalize()}.")
    listing.mark(turn)
    turn.emit(e.StepSkipped(step.name, f"left early: {option}", turn.line))
    turn.emit(e.BranchTaken(step.name, option, way.to, way.text, turn.line))
    steps.open_step(turn, way.to)
