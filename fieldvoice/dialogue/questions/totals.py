"""What was added, reached and read in all."""

from __future__ import annotations

from fieldvoice.dialogue import prompts, record_reading
from fieldvoice.dialogue.calculation_inputs import Missing
from fieldvoice.dialogue.questions.answering import query
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate.records import LoggedReading
from fieldvoice.language import intents as i
from fieldvoice.quantity.convert import from_si
from fieldvoice.quantity.counted import counted
from fieldvoice.quantity.quantities import speakable
from fieldvoice.quantity.units import say

ADDED, PLATE = "charge-added", "refrigerant-amount"
_LISTED = 12  # readings on the screen
_POUND_KG = 0.45359237


@query
def charge_added(turn: Turn, _intent: i.Intent) -> None:
    """The charge added, less what was taken out, beside the plate and the line set's correction."""
    state = turn.state
    taken = [t for t in state.readings if t.quantity == ADDED]
    if not taken:
        raise Missing("No charge was added yet.")
    in_kg = sum(t.si for t in taken if t.si > 0)
    out_kg = -sum(t.si for t in taken if t.si < 0)
    net = in_kg - out_kg
    parts = [f"{_mass(abs(net))} {'added' if net >= 0 else 'taken out'} in all"]
    if out_kg and in_kg:
        parts.append(f"{_mass(in_kg)} in, {_mass(out_kg)} out")
    plate = state.last(PLATE)
    if plate is not None:
        parts.append(f"plate {prompts.shown(plate)}")
    trim = next((r for r in reversed(state.results) if r.about == "charge"), None)
    if trim is not None:
        parts.append(f"correction for the line set {trim.verdict}")
    turn.answer(f"{'; '.join(parts)}.")


def _mass(kg: float) -> str:
    """In ounces, from a pound on in pounds."""
    unit = "lb" if kg >= _POUND_KG else "oz"
    return say(round(from_si(kg, unit), 2 if unit == "lb" else 1), unit)


@query
def lowest_vacuum(turn: Turn, _intent: i.Intent) -> None:
    """The deepest vacuum that was read, and when; readings of too coarse a gauge do not count."""
    pulled = [t for t in turn.state.readings if t.quantity == "vacuum" and not t.now.unfit]
    if not pulled:
        raise Missing("No vacuum has been logged yet.")
    lowest = min(pulled, key=lambda t: t.si)
    turn.answer(f"Lowest vacuum {prompts.shown(lowest)}, at {_clock(turn, lowest)}.")


@query
def readings(turn: Turn, intent: i.AskReadings) -> None:
    """How many readings there are of a quantity: the count aloud, the list on the screen."""
    taken = turn.state.readings
    wanted = intent.quantity or record_reading.expected(turn.state)
    if intent.quantity is None and not any(t.quantity == wanted for t in taken):
        wanted = None
    found = [t for t in taken if wanted in (None, t.quantity)]
    name = f"{speakable(wanted)} reading" if wanted else "reading"
    if not found:
        raise Missing(f"No {name} has been logged yet.")
    count = counted(len(found), name)
    last = found[-1]
    told = speakable(last.quantity) + " " if wanted is None else ""
    spoken = f"{count}, the last {told}{prompts.shown(last)}."
    listed = [_line(turn, t, wanted is None) for t in found[-_LISTED:]]
    more = [f"  and {len(found) - _LISTED} before"] if len(found) > _LISTED else []
    turn.say("answer", "\n".join([spoken, *more, *listed]), spoken)


def _line(turn: Turn, taken: LoggedReading, named: bool) -> str:
    name = f"{speakable(taken.quantity)} " if named else ""
    return f"  {_clock(turn, taken)}  {name}{prompts.shown(taken)}"


def _clock(turn: Turn, taken: LoggedReading) -> str:
    return f"{taken.at.astimezone(turn.now.tzinfo):%H:%M}"
