"""The facts that hold for the place, and so for every unit of the job."""

from __future__ import annotations

from collections.abc import Mapping

from fieldvoice.dialogue.units.round import Round
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.state import JobState
from fieldvoice.procedure.model import Procedure
from fieldvoice.quantity.facts import facts


def of_the_place(known: Mapping[str, str]) -> dict[str, str]:
    """Those of the facts that hold for all units; the others are asked of each anew."""
    return {name: value for name, value in known.items()
            if name in facts() and facts()[name].whole_job}


def fitting(known: Mapping[str, str], procedure: Procedure) -> dict[str, str]:
    """Without what this procedure cannot take: a criterion of others, limits that it works out."""
    offered = {word for c in procedure.criteria.values() for word in (c.name, c.document)}
    own = {name for name, limit in procedure.limits.items() if limit.figure}
    return {name: value for name, value in known.items()
            if name not in own and (name != "criterion" or value in offered)}


def spread(turns: Round, unit: str, before: JobState) -> None:
    """What a unit was told of the place since `before`, or took back, holds for the others too."""
    if not turns.job.several:
        return
    old = of_the_place(before.facts)
    new = of_the_place(turns.job.states[unit].facts)
    if old == new:
        return
    for other, state in turns.job.states.items():
        if other == unit or state.finished:
            continue
        for name, value in fitting(new, state.procedure).items():
            if value not in (old.get(name), state.facts.get(name)):
                turns.note(other, e.FactTold(name, value))
        for name in old.keys() - new.keys() & state.told.keys():
            turns.note(other, e.Withdrawn(state.told[name].seq))
