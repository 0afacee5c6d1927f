"""The steps listed before the open one: read, done ahead of it, or one of them not done."""

from __future__ import annotations

from fieldvoice.dialogue import prompts, steps
from fieldvoice.dialogue.depth import listing
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate.depths import EVERY_STEP
from fieldvoice.language import intents as i


def read_list(turn: Turn) -> None:
    """Read what is listed before the open step."""
    if not turn.state.listed:
        turn.answer(_nothing(turn))
        return
    turn.answer(listing.words(turn))


def list_done(turn: Turn) -> None:
    """What is listed is done, though the step behind it is not yet."""
    if not turn.state.listed:
        turn.refuse(_nothing(turn))
        return
    count = len(turn.state.listed)
    listing.mark(turn)
    turn.answer(f"{count} steps done." if count > 1 else "One step done.")
    turn.say("prompt", prompts.waits_for(turn.state))


def not_done(turn: Turn, intent: i.NotDone) -> None:
    """One of the list was not done: it is opened by itself, what stands before it stays listed."""
    listed = turn.state.listed
    number = intent.number or 1
    if not listed:
        turn.refuse(_nothing(turn))
    elif number > len(listed):
        turn.refuse(f"Only {len(listed)} listed. {listing.words(turn)}")
    else:
        steps.open_step(turn, listed[number - 1], listed[:number - 1], alone=True)


def _nothing(turn: Turn) -> str:
    if turn.state.depth == EVERY_STEP:
        return f"Every step has its own prompt. {prompts.waits_for(turn.state)}"
    return f"Nothing is listed before this step. {prompts.waits_for(turn.state)}"
