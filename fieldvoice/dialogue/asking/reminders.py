"""Reminding of what waits: standing by, an open note, a question without its answer."""

from __future__ import annotations

from fieldvoice.dialogue import pending_question
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.waiting import NOTE, QUESTION, STANDING_BY, mark_to_call

STILL = {
    STANDING_BY: "Still standing by. Say carry on.",
    NOTE: "The note is still open. Say end note.",
}


def remind(turn: Turn, *, aloud: bool = True) -> None:
    """Say what has waited long enough; without `aloud` it was said anyway, and only counts."""
    state = turn.state
    for waiting in state.waiting:
        mark = mark_to_call(waiting, turn.now)
        away = state.standing_by or state.open_note is not None
        if mark is None or (waiting.what == QUESTION and away):
            continue
        turn.emit(e.Reminded(waiting.what, f"{mark} min"))
        if aloud and waiting.what in STILL:
            turn.say("prompt", STILL[waiting.what])
        elif aloud:
            turn.say("question", pending_question.again(turn.state))
