"""The facts that hold for the place, and so for every unit that is begun there."""

from __future__ import annotations

from collections.abc import Mapping

from fieldvoice.procedure.model import Procedure

# What is not here belongs to a unit, as its refrigerant does, and is asked of each anew.
OF_THE_PLACE = frozenset({
    "altitude", "atmosphere", "temperature-unit", "ambient", "technician", "helper", "customer",
    "place", "criterion",
})  # fmt: skip


def of_the_place(facts: Mapping[str, str]) -> dict[str, str]:
    """What another unit at the same place is told."""
    return {name: value for name, value in facts.items() if name in OF_THE_PLACE}


def fitting(facts: Mapping[str, str], procedure: Procedure) -> dict[str, str]:
    """Without what this procedure cannot take: a criterion of others, limits that it works out."""
    offered = {word for c in procedure.criteria.values() for word in (c.name, c.document)}
    own = {name for name, limit in procedure.limits.items() if limit.figure}
    return {name: value for name, value in facts.items()
            if name not in own and (name != "criterion" or value in offered)}
