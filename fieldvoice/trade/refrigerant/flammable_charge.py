"""How a refrigerant burns, and the charge from which the size of the room counts."""

from __future__ import annotations

from collections.abc import Mapping

from fieldvoice.trade.refrigerant.refrigerants import Refrigerant, fluids, known

# What the figure of an ASHRAE 34 class says of burning, the mildest first.
BURNING: Mapping[str, str] = {
    "1": "not-flammable", "2L": "mildly-flammable", "2": "mildly-flammable",
    "3": "highly-flammable",
}
MILDEST_FIRST = tuple(dict.fromkeys(BURNING.values()))
# The charge below which no room is too small, m1: so many cubic metres times the lower flammability
# limit. 6 for 2L by UL 60335-2-40, 4 for the others by IEC 60335-2-40; all from memory.
ROOM_M3: Mapping[str, float] = {"2L": 6.0, "2": 4.0, "3": 4.0}
# Limits that the strictest is taken from where the refrigerant is not known: besides those of
# refrigerants.toml propane's, 0.038 kg/m3 (from memory), the commonest of class A3.
_PROPANE_KG_M3 = 0.038


def burning(name: str) -> str | None:
    """How the refrigerant of that name burns, one of MILDEST_FIRST; None for an unknown one."""
    found = known(name)
    return None if found is None else _burning(found)


def stricter(one: str, other: str) -> str:
    """The one of two ways of burning (of MILDEST_FIRST) that asks for more care."""
    return max(one, other, key=MILDEST_FIRST.index)


def room_charge_kg(name: str | None, burns: str | None) -> float:
    """The charge in kg from which the size of the room counts: ROOM_M3 times the limit.

    `burns` is what the plate says, one of MILDEST_FIRST; None: not known. A refrigerant that is
    not known, or burns otherwise than the plate says, is taken for the strictest that fits.
    """
    own = known(name)
    if own is not None and own.flammable_kg_m3 is not None and _burning(own) == burns:
        return _least_kg(own.safety_class[1:], own.flammable_kg_m3)
    every = [(r.safety_class[1:], r.flammable_kg_m3) for r, _ in fluids().values()]
    flammable = [(figure, limit) for figure, limit in every if limit is not None]
    flammable.append(("3", _PROPANE_KG_M3))
    fitting = [pair for pair in flammable if BURNING[pair[0]] == burns]
    return min(_least_kg(*pair) for pair in fitting or flammable)


def _burning(found: Refrigerant) -> str:
    return BURNING[found.safety_class[1:]]


def _least_kg(figure: str, flammable_kg_m3: float) -> float:
    return ROOM_M3[figure] * flammable_kg_m3
