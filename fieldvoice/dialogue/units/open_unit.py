"""Going on with another unit: what it is at, what runs there, what it asks for."""

from __future__ import annotations

from datetime import datetime

from fieldvoice.dialogue import pending_question, prompts
from fieldvoice.dialogue.depth import presenting
from fieldvoice.dialogue.turn import Heard
from fieldvoice.dialogue.units import question, tell
from fieldvoice.dialogue.units.round import Outcome, Round
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate import unit_names as names
from fieldvoice.jobstate.job import Job
from fieldvoice.language import intents as i


def open_unit(turns: Round, heard: Heard, intent: i.OpenUnit) -> None:
    """Open a unit that was begun; one that was not is begun only after a yes."""
    unit = names.find(turns.job, intent.unit)
    if unit is None:
        question.ask_to_begin(turns, heard, intent.unit)
    else:
        _open(turns, unit, heard)


def turn_to(job: Job, unit: str, now: datetime) -> Outcome:
    """Open a unit that no line named."""
    turns = Round(job, now)
    _open(turns, unit, None)
    return turns.finish()


def _open(turns: Round, unit: str, heard: Heard | None) -> None:
    turn = turns.turn(unit)
    if heard is not None:
        turn.hear(heard)
    turn.emit(e.UnitOpened(turn.line))
    turn.answer(tell.standing(turns.job, unit, turn))
    if turn.state.question is not None:
        pending_question.after_a_break(turn)
    elif turn.state.unacknowledged():
        presenting.present(turn, every_caution=True)
    elif turn.state.hold is not None:
        turn.say("prompt", prompts.waits_for(turn.state))
    else:
        prompts.prompt(turn)
    turns.take(unit, turn.finish())

