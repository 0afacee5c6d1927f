"""One line for what belongs together: caution and step, readings and the hold that they begin."""

from __future__ import annotations

from fieldvoice.dialogue import answers, holds, prompts, record_reading, steps
from fieldvoice.dialogue.depth import listing
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate.depths import EVERY_STEP
from fieldvoice.jobstate.state import JobState
from fieldvoice.language import intents as i


def understood_done(turn: Turn) -> None:
    """The caution is acknowledged and the step is done.

    Where every step is prompted, the step has not been said before its caution is acknowledged.
    """
    if turn.state.unacknowledged() and turn.state.depth == EVERY_STEP:
        answers.understood(turn)
        return
    if turn.state.unacknowledged():
        answers.acknowledge(turn)
    steps.next_step(turn)


def next_readings(turn: Turn, intent: i.NextReadings) -> None:
    """The open step is done, then the readings; first those that it waits for itself."""
    if turn.state.unmet() is None:
        steps.next_step(turn)
    record_reading.record_all(turn, i.Readings(intent.readings))


def hold_at(turn: Turn, intent: i.StartHoldAt) -> None:
    """Readings and the hold: those of the steps before it first, the hold's own at its start.

    Where a gate stands before the hold (the valves shut) it begins only if that was prompted before
    this line: nobody confirms what he has not been told.
    """
    left, before = list(intent.readings), turn.state.step
    while left and turn.state.question is None:
        if _begins_with(turn.state, left) and _was_told(turn.state, before):
            holds.start_hold(turn, i.StartHold())
        reading = record_reading.wanted_first(turn.state, left)
        left.remove(reading)
        record_reading.record(turn, reading)
    state = turn.state
    if state.hold is not None and state.hold.running:
        turn.drop_prompts()  # the reading of minute 0 has just been given
    elif (state.question is None and state.open_step is not None and state.open_step.hold
          and _was_told(state, before)):
        holds.start_hold(turn, i.StartHold())
    else:
        turn.refuse(f"No hold has started. {prompts.waits_for(state)}")


def _was_told(state: JobState, before: str | None) -> bool:
    """Whether the gates before the hold of the open step were prompted before the line came in."""
    return state.step == before or not listing.gates(state, state.listed)


def _begins_with(state: JobState, left: list[i.Reading]) -> bool:
    """Whether the open step's hold waits to begin, and one of the readings is its own."""
    step = state.open_step
    if step is None or step.hold is None or state.hold is not None or step.hold.quantity is None:
        return False
    if state.unmet() or state.unacknowledged():
        return False
    return any(r.quantity in (None, step.hold.quantity) for r in left)
