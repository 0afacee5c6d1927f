"""Limits that follow a reading: the stages of a nitrogen test from the plate's design pressure."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from fieldvoice.procedure.model import Procedure
from fieldvoice.procedure.settings import Limit
from fieldvoice.quantity.convert import from_si
from fieldvoice.quantity.site import Site
from fieldvoice.trade.nitrogen.tightness_test import staged_pressures


@dataclass(frozen=True)
class Figure:
    """Something worked out from a reading; gauge pressures in and out, Pa."""

    quantity: str
    dimension: str
    work_out: Callable[[float], float]


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
}


def worked(limit: Limit, read_pa: float, site: Site) -> Limit:
    """The limit once the reading that it follows is there, in its own unit, to a whole number.

    `read_pa` is absolute. Raises TradeError for a plate that cannot be
    (trade/nitrogen/tightness_test.py); the procedure's own limits on the reading keep those out.
    """
    gauge_pa = FIGURES[limit.figure].work_out(read_pa - site.atmosphere_pa)
    value = from_si(gauge_pa + site.atmosphere_pa, limit.unit, site.atmosphere_pa)
    about = f"{limit.figure} of the {limit.of}".replace("-", " ")
    return replace(limit, value=Decimal(round(value)), source=f"{about}: {limit.source}")


def following(procedure: Procedure, read: Mapping[str, float], site: Site) -> Procedure:
    """The procedure with the limits that its last readings (quantity to SI) set."""
    limits = {
        name: worked(limit, read[limit.of], site) if limit.figure and limit.of in read else limit
        for name, limit in procedure.limits.items()
    }
    return replace(procedure, limits=limits)
