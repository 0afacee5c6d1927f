"""Yes, no and understood where no question of ours is open; and what was not understood."""

from __future__ import annotations

from fieldvoice.dialogue import choosing, prompts, steps
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.depths import EVERY_STEP
from fieldvoice.language import intents as i


def yes_or_no(turn: Turn, intent: i.Intent) -> None:
    """Yes and no answer the choices of a step that offers them."""
    step = turn.state.open_step
    option = intent.name()
    if step is not None and step.way(option) is not None:
        choosing.choose(turn, option)
    elif isinstance(intent, i.Yes) and turn.state.unacknowledged():
        turn.refuse(prompts.waits_for(turn.state))
    else:
        turn.refuse(f"Nothing was asked. {prompts.waits_for(turn.state)}")


def never_mind(turn: Turn) -> None:
    """Nothing is asked, so there is nothing to withdraw; what was logged stays."""
    turn.refuse(f"Nothing was asked. {prompts.waits_for(turn.state)}")


def understood(turn: Turn) -> None:
    """Acknowledge the caution that waits."""
    step = turn.state.open_step
    waiting = turn.state.unacknowledged()
    if step is None or not waiting:
        turn.answer("All right.")
        return
    together = turn.state.depth != EVERY_STEP
    acknowledge(turn)
    if not turn.state.unacknowledged() and step.needs and turn.state.unmet() is None:
        steps.advance(turn)  # the readings came before the word
    elif together:
        turn.answer("All right." if turn.state.unmet() else prompts.waits_for(turn.state))
    else:
        prompts.present(turn, after=waiting[0])


def acknowledge(turn: Turn) -> None:
    """Log the caution that was given, or all that were given in one breath."""
    step, waiting = turn.state.open_step, turn.state.unacknowledged()
    assert step is not None
    for name in waiting[:1] if turn.state.depth == EVERY_STEP else waiting:
        turn.emit(e.CautionAcknowledged(step.name, name, turn.line))


def not_understood(turn: Turn, intent: i.NotUnderstood) -> None:
    """Say what was wrong; a line that can mean two things is asked back."""
    if intent.kind == "two-ways":
        turn.ask(intent.reason)
    else:
        turn.refuse(intent.reason)
