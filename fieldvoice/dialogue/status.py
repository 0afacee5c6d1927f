"""Where the job stands, why a step is there, and what can be said now."""

from __future__ import annotations

from fieldvoice.dialogue import holds, pending_question, prompts, queries
from fieldvoice.dialogue.turn import Turn
from fieldvoice.quantity.quantities import speakable


def where(turn: Turn) -> None:
    """Stage, step, timers and the last reading."""
    turn.answer(standing(turn))


def standing(turn: Turn) -> str:
    """Where the job stands, in a few sentences."""
    state = turn.state
    step = state.open_step
    if step is None:
        return f"The job is finished: {(state.ending or '').replace('-', ' ')}."
    parts = [f"{state.procedure.stages[step.stage].title}, step {step.name.replace('-', ' ')}."]
    last = state.last()
    if last is not None:
        name = speakable(last.quantity)
        parts.append(f"Last {name} {prompts.shown(last)}, {queries.ago(turn, last)}.")
    parts.append(holds.all_left(turn))
    if state.open_note is not None:
        parts.append("A note is open. Say end note.")
    return " ".join(part for part in parts if part)


def what_now(turn: Turn) -> None:
    """What the open step, or the open question, waits for."""
    if turn.state.question is not None:
        turn.say("question", pending_question.again(turn.state))
        return
    step, hold = turn.state.open_step, turn.state.hold
    if step and hold and hold.running:
        turn.answer(holds.all_left(turn))
    elif step and not turn.state.unacknowledged():
        prompts.prompt(turn)
    turn.answer(prompts.waits_for(turn.state))


def repeat(turn: Turn) -> None:
    """Say the last burst of replies again."""
    if turn.state.question is not None:
        turn.say("question", pending_question.again(turn.state))
    elif turn.state.last_said:
        for said in turn.state.last_said:
            turn.say(said.tone, said.text)
    else:
        what_now(turn)


def why(turn: Turn) -> None:
    """Explain the open step."""
    step = turn.state.open_step
    words = prompts.fill(step.why, turn.state, turn.now) if step else ""
    if words:
        turn.answer(words)
    else:
        turn.refuse("The procedure gives no reason here. The equipment's instructions decide.")


def help_now(turn: Turn) -> None:
    """Three things that can be said now."""
    first, second, third = prompts.examples(turn.state)
    turn.answer(f"You can say: {first}; {second}; or {third}.")
