"""A value that waits for its yes: said again it is confirmed, another one takes its place."""

from __future__ import annotations

from fieldvoice.dialogue import record_reading
from fieldvoice.dialogue.asking import confirmed
from fieldvoice.dialogue.asking.asides import close
from fieldvoice.dialogue.turn import Heard, Turn
from fieldvoice.language import intents as i
from fieldvoice.quantity.resolve_unit import Refused

VALUES = (i.Reading, i.Correction, i.ChangeReading)


def said_again(turn: Turn, heard: Heard, waiting: i.Intent) -> i.Intent | None:
    """The same value confirms, another one replaces; of another quantity it is logged beside."""
    said = heard.intent
    quantity = getattr(waiting, "quantity", None)
    if isinstance(said, i.Readings):
        _several(turn, said, waiting)
        return None
    if isinstance(said, i.ChangeReading) and said.quantity != quantity:
        return said
    assert isinstance(said, VALUES)
    return _one(turn, i.Reading(said.value, said.unit, getattr(said, "quantity", None)), waiting)


def _several(turn: Turn, said: i.Readings, waiting: i.Intent) -> None:
    """Several in one breath: that of the quantity in question answers, the others are logged."""
    question = turn.state.question
    for reading in said.readings:
        rest: i.Intent | None = reading
        if turn.state.question == question:
            rest = _one(turn, reading, waiting)
        if isinstance(rest, i.Reading):
            record_reading.record(turn, rest)
        elif rest is not None:
            confirmed.do(turn, rest)


def _one(turn: Turn, said: i.Reading, waiting: i.Intent) -> i.Intent | None:
    """What is still to be done of a value said while another one waits."""
    assert isinstance(waiting, VALUES)
    quantity = getattr(waiting, "quantity", None)
    if said.quantity not in (None, quantity):
        return said
    same = i.Reading(said.value, said.unit, quantity)
    found = record_reading.resolve(turn, same)
    if isinstance(found, Refused):
        return _of_the_step(turn, said, found)
    repeated = (found.value, found.unit) == (waiting.value, waiting.unit)
    close(turn, "yes" if repeated else "replaced")
    new: i.Intent = same
    if isinstance(waiting, i.ChangeReading):
        new = i.ChangeReading(waiting.quantity, said.value, found.unit)
    return confirmed.do(turn, new) if repeated else new


def _of_the_step(turn: Turn, said: i.Reading, refused: Refused) -> i.Reading | None:
    """A unit that does not fit the quantity in question may fit what the step waits for."""
    if said.unit is not None and not isinstance(record_reading.resolve(turn, said), Refused):
        return said
    turn.refuse(refused.reason)
    return None
