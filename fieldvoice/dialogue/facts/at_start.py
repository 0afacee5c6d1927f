"""Facts that a command line gives: checked before a job is begun, honoured when it goes on."""

from __future__ import annotations

from collections.abc import Mapping

from fieldvoice.dialogue.facts import conflicts, telling
from fieldvoice.dialogue.facts.settle import FactError, settled
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.state import JobState
from fieldvoice.procedure.model import Procedure
from fieldvoice.quantity.amount import read_amount
from fieldvoice.quantity.facts import Fact, facts
from fieldvoice.quantity.resolve_reading import Resolved, resolve
from fieldvoice.quantity.resolve_unit import Refused


def checked(procedure: Procedure, told: Mapping[str, str]) -> dict[str, str]:
    """The facts as they are kept; raises FactError for one that cannot be, or two that clash."""
    found = {name: settled(procedure, name, text) for name, text in told.items()}
    conflicts.refuse(procedure, found)
    return found


def checked_late(state: JobState, told: Mapping[str, str]) -> dict[str, str]:
    """Those of the facts that are new to a job that goes on.

    Raises FactError, too, for an answer that the job has passed, and for a refrigerant that burns
    otherwise than was said in the job.
    """
    given = {name: text for name, text in told.items() if state.facts.get(name) != text}
    found = {name: settled(state.procedure, name, text) for name, text in given.items()}
    new = {name: value for name, value in found.items() if state.facts.get(name) != value}
    if new:
        conflicts.refuse(state.procedure, {**state.facts, **new})
    for name, value in new.items():
        _refuse_late(state, name, value)
    return new


def _refuse_late(state: JobState, name: str, value: str) -> None:
    conflicts.refuse_answered(state, name, value)
    fact = facts().get(name)
    if fact is not None and fact.lasting and fact.name not in state.facts:
        read = state.last(fact.reading)
        found = _resolved(state, fact, value)
        if read is not None and not isinstance(found, Refused) and (
                abs(found.si - read.si) > 0.01 * read.si):
            raise FactError(f"The {fact.called} was read in the job as {read.now.said} "
                            f"{read.now.unit}. Change that reading instead.")
    if name == "refrigerant":
        said = conflicts.class_against(state, value)
        if said is not None:
            raise FactError(f"{value} contradicts what was said of the plate in the job: "
                            f"{said.replace('-', ' ')}. Tell it in the job instead.")


def begin(turn: Turn, told: Mapping[str, str]) -> None:
    """Readings that facts of the start stand for."""
    for name, value in told.items():
        fact = facts().get(name)
        if fact is not None and fact.lasting:
            _read(turn, fact, value)


def go_on(turn: Turn, told: Mapping[str, str]) -> None:
    """Log facts that are new to the job."""
    for name, value in told.items():
        fact = facts().get(name)
        if fact is not None and fact.reading:
            _read(turn, fact, value)
        telling.keep(turn, name, value)


def _read(turn: Turn, fact: Fact, value: str) -> None:
    found = _resolved(turn.state, fact, value)
    if not isinstance(found, Refused):
        turn.emit(e.ReadingTaken(found.quantity, str(found.value), found.unit, found.si,
                                 found.si_unit, turn.state.step or "", turn.line))


def _resolved(state: JobState, fact: Fact, value: str) -> Resolved | Refused:
    amount = read_amount(fact.called, value, fact.dimension, default_unit=fact.unit)
    return resolve(amount.value, amount.unit.name, fact.reading, site=state.site)
