"""Beginning another unit, or another procedure for the same one: a sheet of its own."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from functools import partial

from fieldvoice.dialogue import assistant
from fieldvoice.dialogue.depth.done_once import done_once
from fieldvoice.dialogue.turn import Heard
from fieldvoice.dialogue.units import tell
from fieldvoice.dialogue.units.place_facts import fitting, of_the_place
from fieldvoice.dialogue.units.round import Outcome, Round
from fieldvoice.errors import FieldvoiceError
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate import unit_names as names
from fieldvoice.jobstate.job import FIRST, Job
from fieldvoice.jobstate.state import JobState
from fieldvoice.language import intents as i
from fieldvoice.procedure.model import Procedure

Lookup = Callable[[str], Procedure]  # by name; raises FieldvoiceError
# (the new sheet, those that are there) -> steps that count as done; asked before its first step
# opens, in this order
DoneAlready = Callable[[JobState, Mapping[str, JobState]], Iterable[e.StepCarried]]
DONE_ALREADY: tuple[DoneAlready, ...] = (done_once,)
_NOTHING: Mapping[str, str] = {}


def begin_unit(turns: Round, heard: Heard, intent: i.BeginUnit, lookup: Lookup | None) -> None:
    """Begin a unit that was asked for by name, and open it."""
    if names.is_taken(turns.job, intent.unit):
        there = names.find(turns.job, intent.unit)
        name = intent.unit if there is None else names.called(turns.job, there)
        tell.refuse(turns, heard, f"{names.at_the_start(name)} was begun already. "
                                  f"Say {name} to open it.")
        return
    try:
        procedure = _procedure(turns.job, intent.procedure, lookup)
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


def _procedure(job: Job, name: str | None, lookup: Lookup | None) -> Procedure:
    own = job.procedures[job.state.procedure.sha256]
    if name is None or name == own.name:
        return own
    if lookup is None:
        raise FieldvoiceError(f"no procedure {name!r} is at hand; leave its name away")
    return lookup(name)


def _begin(
    turns: Round, unit: str, procedure: Procedure, known_facts: Mapping[str, str],
    site: Mapping[str, str] = _NOTHING,
) -> None:
    others = dict(turns.job.states)
    facts = {**fitting(known_facts, procedure), **site}
    known = {state.procedure.name for state in others.values()}
    turns.begin(unit, procedure)
    carries = [partial(_carried, done, others) for done in DONE_ALREADY]
    turns.take(unit, assistant.begin(
        turns.job.at(unit), turns.now, others[FIRST].job, facts, carries=carries,
        heard_before=procedure.name in known), named=True)
    turns.open(unit)


def _carried(
    done: DoneAlready, others: Mapping[str, JobState], new: JobState
) -> Iterable[e.StepCarried]:
    return done(new, others)
