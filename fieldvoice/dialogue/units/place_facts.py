"""The facts that hold for the place, and so for every unit that is begun there."""

from __future__ import annotations

from collections.abc import Mapping

from fieldvoice.procedure.model import Procedure

# What is not here belongs to a unit, as its refrigerant does, and is asked of each anew.
OF_THE_PLACE = frozenset({
    "altitude", "atmosphere", "temperature-unit", "ambient", "technician", "helper", "customer",
    "place", "criterion",
})  # fmt: skip


def taken_over(facts: Mapping[str, str], procedure: Procedure) -> dict[str, str]:
    """What a new unit is told; a criterion only where its procedure offers it."""
    offered = {word for c in procedure.criteria.values() for word in (c.name, c.document)}
    return {name: value for name, value in facts.items()
            if name in OF_THE_PLACE and (name != "criterion" or value in offered)}
