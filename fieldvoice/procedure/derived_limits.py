"""Limits that follow what is on the plates: a reading of them, or an answer."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from decimal import ROUND_FLOOR, Decimal

from fieldvoice.procedure.model import Procedure
from fieldvoice.procedure.settings import Limit
from fieldvoice.quantity.convert import from_si
from fieldvoice.quantity.site import Site
from fieldvoice.trade.nitrogen.tightness_test import staged_pressures
from fieldvoice.trade.refrigerant.flammable_charge import room_charge_kg

ROOM_CHARGE = "room-charge"


@dataclass(frozen=True)
class Figure:
    """Something worked out from a reading; gauge pressures in and out, Pa."""

    quantity: str  # or the step whose answer it follows
    dimension: str
    work_out: Callable[[float], float] | None = None  # None: from an answer, `answered`


def _stage(number: int, part: float = 1.0) -> Callable[[float], float]:
    """The pressure of a stage; the last one stands in for stages that a low plate does not have."""
    def of(design_gauge_pa: float) -> float:
        stages = staged_pressures(design_gauge_pa)
        return part * stages[min(number, len(stages) - 1)].gauge_pa

    return of


FIGURES: Mapping[str, Figure] = {
    "first-stage": Figure("design-pressure", "pressure", _stage(0)),
    "half-way-stage": Figure("design-pressure", "pressure", _stage(1)),
    "full-stage": Figure("design-pressure", "pressure", _stage(2)),
    # a dial within 5 % of its pressure is common practice: nearer it cannot be set
    "least-full-stage": Figure("design-pressure", "pressure", _stage(2, 0.95)),
    ROOM_CHARGE: Figure("refrigerant-class", "mass"),
}
OF_ANSWERS = frozenset(name for name, figure in FIGURES.items() if figure.work_out is None)


def worked(limit: Limit, read_pa: float, site: Site) -> Limit:
    """The limit once the reading that it follows is there, in its own unit, to a whole number.

    `read_pa` is absolute. Raises TradeError for a plate that cannot be
    (trade/nitrogen/tightness_test.py); the procedure's own limits on the reading keep those out.
    """
    work_out = FIGURES[limit.figure].work_out
    assert work_out is not None  # those of OF_ANSWERS follow no reading
    gauge_pa = work_out(read_pa - site.atmosphere_pa)
    value = from_si(gauge_pa + site.atmosphere_pa, limit.unit, site.atmosphere_pa)
    about = f"{limit.figure} of the {limit.of}".replace("-", " ")
    return replace(limit, value=Decimal(round(value)), source=f"{about}: {limit.source}")


def answered(limit: Limit, answer: str | None, refrigerant: str | None) -> Limit:
    """The limit of OF_ANSWERS once the answer is there, in its own unit.

    Rounded down to a hundredth: the limit is one that asks for more care from there on.
    """
    kg = from_si(room_charge_kg(refrigerant, answer), limit.unit)
    value = Decimal(kg).quantize(Decimal("0.01"), ROUND_FLOOR)
    about = f"{limit.figure} of the {limit.of}".replace("-", " ")
    return replace(limit, value=value, source=f"{about}: {limit.source}")


def following(
    procedure: Procedure, read: Mapping[str, float], site: Site,
    answers: Mapping[str, str], refrigerant: str | None,
) -> Procedure:
    """The procedure with the limits that its last readings (quantity to SI) and answers set."""
    limits = dict(procedure.limits)
    for name, limit in procedure.limits.items():
        if limit.figure in OF_ANSWERS:
            limits[name] = answered(limit, answers.get(limit.of), refrigerant)
        elif limit.figure and limit.of in read:
            limits[name] = worked(limit, read[limit.of], site)
    return replace(procedure, limits=limits)
