"""The room is checked again when charge is added: a flammable charge may outgrow it."""

from __future__ import annotations

from dataclasses import asdict, dataclass

from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.state import JobState
from fieldvoice.language import intents as i
from fieldvoice.procedure.derived_limits import ROOM_CHARGE
from fieldvoice.procedure.settings import Limit
from fieldvoice.quantity.convert import from_si, to_si
from fieldvoice.quantity.units import say

ABOUT = "room"  # of the result
ENOUGH, TOO_SMALL = "large-enough", "too-small"
# An addition of so much of the plate's amount is the whole charge, weighed into an empty system,
# and no correction for the line set (common practice).
_WHOLE_CHARGE = 0.9


@dataclass(frozen=True)
class Grown:
    """A charge that has grown past the amount from which the room counts, kg."""

    plate_kg: float
    total_kg: float
    limit_kg: float
    limit: str  # in the procedure's unit, as it is said
    source: str


def grown(state: JobState) -> Grown | None:
    """The charge, when it has grown past the limit since the room was passed over as large enough.

    None, too, where the plate was not read: then the room was asked for at the start.
    """
    limit = next((x for x in state.procedure.limits.values() if x.figure == ROOM_CHARGE), None)
    plate = state.last("refrigerant-amount")
    if limit is None or plate is None or not _passed_over(state, limit):
        return None
    if state.answer(limit.of) in (None, "not-flammable"):
        return None
    worked = state.limit(limit.name)
    limit_kg, total_kg = to_si(worked.value, worked.unit), _total_kg(state, plate.si)
    checked = [r for r in state.results if r.about == ABOUT and r.verdict == ENOUGH]
    if total_kg < limit_kg or checked:
        return None
    return Grown(plate.si, total_kg, limit_kg, say(worked.value, worked.unit), worked.source)


def asks(turn: Turn) -> bool:
    """Put the question of the room before anything goes on; returns whether it had to be."""
    found = grown(turn.state)
    if found is None or turn.line is None or turn.state.question is not None:
        return False
    turn.emit(e.Asked(turn.line, ABOUT, i.Next().to_dict()))
    turn.ask(question(turn.state))
    return True


def question(state: JobState) -> str:
    """The question as it is put: what the charge is now, and from where the room counts."""
    found = grown(state)
    if found is None:
        return "Is the room large enough? Say yes or no."
    total = say(round(from_si(found.total_kg, "lb"), 2), "lb")
    return (f"It holds {total} now, and from {found.limit} up the room counts. "
            "Is the room large enough? Say yes or no.")


def answered(turn: Turn, verdict: str) -> None:
    """Log what was found of the room, with the charge that it was checked for."""
    found = grown(turn.state)
    if found is None:
        return
    figures = {name: value for name, value in asdict(found).items() if name != "limit"}
    turn.emit(e.VerdictGiven(ABOUT, verdict, figures, turn.state.step, turn.line))
    if verdict == TOO_SMALL:
        turn.answer(f"Then no more charge. Recover it below {found.limit}, and tell me the charge "
                    "added, as minus.")


def _passed_over(state: JobState, limit: Limit) -> bool:
    """Whether the step that checks the room did not apply when the job came to it."""
    room = {s.name for s in state.procedure.steps if any(limit.name in w.limits for w in s.when)}
    last = next((left for left in reversed(state.trail) if left.step in room), None)
    return last is not None and last.skipped and last.line is None


def _total_kg(state: JobState, plate_kg: float) -> float:
    added = [t.si for t in state.readings if t.quantity == "charge-added"]
    whole = any(si >= _WHOLE_CHARGE * plate_kg for si in added)
    return sum(added) + (0.0 if whole else plate_kg)
