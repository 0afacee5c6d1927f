"""The facts that hold for the place, and so for every unit of the job."""

from __future__ import annotations

from collections.abc import Mapping

from fieldvoice.dialogue.units.round import Round
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.state import JobState
from fieldvoice.procedure.model import Procedure
from fieldvoice.quantity.facts import facts


def of_the_place(known: Mapping[str, str], procedure: Procedure) -> dict[str, str]:
    """Those of the facts that hold for all units; a criterion only where a procedure offers it.

    The others, as a refrigerant, belong to one unit and are asked of each anew.
    """
    offered = {word for c in procedure.criteria.values() for word in (c.name, c.document)}
    return {name: value for name, value in known.items()
            if name in facts() and facts()[name].whole_job
            and (name != "criterion" or value in offered)}


def spread(turns: Round, unit: str, before: JobState) -> None:
    """What a unit was told of the place since `before`, or took back, holds for the others too."""
    for other, state in turns.job.states.items():
        if other == unit or state.finished:
            continue
        old = of_the_place(before.facts, state.procedure)
        new = of_the_place(turns.job.states[unit].facts, state.procedure)
        for name in old.keys() | new.keys():
            if old.get(name) != new.get(name) != state.facts.get(name):
                turns.note(other, _change(state, name, new.get(name)))


def _change(state: JobState, name: str, value: str | None) -> e.Event:
    """A fact that is not known any more was told, since nobody takes back what the job began with.
    """
    if value is None:
        return e.Withdrawn(state.told[name].seq)
    return e.FactTold(name, value)
