"""Beginning another unit, or another procedure for the same one: a sheet of its own."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime

from fieldvoice.dialogue import assistant
from fieldvoice.dialogue.depth.done_once import done_once
from fieldvoice.dialogue.turn import Heard
from fieldvoice.dialogue.units import tell
from fieldvoice.dialogue.units.place_facts import fitting, of_the_place
from fieldvoice.dialogue.units.round import Outcome, Round
from fieldvoice.errors import FieldvoiceError
from fieldvoice.jobstate import unit_names as names
from fieldvoice.jobstate.job import FIRST, Job
from fieldvoice.language import intents as i
from fieldvoice.procedure.model import Procedure

FindProcedure = Callable[[str], Procedure]  # by name; raises FieldvoiceError
_NOTHING: Mapping[str, str] = {}


def begin_unit(turns: Round, heard: Heard, intent: i.BeginUnit, find: FindProcedure | None) -> None:
    """Begin a unit that was asked for by name, and open it."""
    if names.is_taken(turns.job, intent.unit):
        there = names.find(turns.job, intent.unit)
        name = intent.unit if there is None else names.called(turns.job, there)
        tell.refuse(turns, heard, f"{names.at_the_start(name)} was begun already. "
                                  f"Say {name} to open it.")
        return
    try:
        procedure = _procedure(turns.job, intent.procedure, find)
        begun = Round(turns.job, turns.now)
        begun.accept(heard, turns.job.open)
        _begin(begun, intent.unit, procedure, of_the_place(turns.job.state.facts))
    except FieldvoiceError as error:
        tell.refuse(turns, heard, f"{names.at_the_start(intent.unit)} was not begun: {error}")
        return
    turns.adopt(begun)


def begin_sheet(
    job: Job, procedure: Procedure, now: datetime, site: Mapping[str, str]
) -> Outcome:
    """Begin another procedure for the open unit, of which all is known that was told of it.

    `site`: what is told besides. Raises what assistant.begin raises.
    """
    turns = Round(job, now)
    _begin(turns, names.sheet(job.open, procedure.name), procedure, job.state.facts, site)
    return turns.finish()


def _procedure(job: Job, name: str | None, find: FindProcedure | None) -> Procedure:
    own = job.procedures[job.state.procedure.sha256]
    if name is None or name == own.name:
        return own
    if find is None:
        raise FieldvoiceError(f"no procedure {name!r} is at hand; leave its name away")
    return find(name)


def _begin(
    turns: Round, unit: str, procedure: Procedure, known_facts: Mapping[str, str],
    site: Mapping[str, str] = _NOTHING,
) -> None:
    others = dict(turns.job.states)
    facts = {**fitting(known_facts, procedure), **site}
    known = {state.procedure.name for state in others.values()}
    turns.begin(unit, procedure)
    new = turns.job.at(unit)
    turns.take(unit, assistant.begin(
        new, turns.now, others[FIRST].job, facts, carried=done_once(new, others),
        heard_before=procedure.name in known, mode=others[FIRST].mode), named=True)
    turns.open(unit)
