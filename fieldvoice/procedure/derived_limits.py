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
    """Something worked out from a reading; SI in and out, gauge pressures in Pa."""

    quantity: str  # or the step whose answer it follows
    dimension: str
    work_out: Callable[[float], float] | None = None  # None: from an answer, `answered`


def _stage(number: int, part: float = 1.0) -> Callable[[float], float]:
    """The pressure of a stage; the last one stands in for stages that a low plate does not have."""
    def of(design_gauge_pa: float) -> float:
        stages = staged_pressures(design_gauge_pa)
        return part * stages[min(number, len(stages) - 1)].gauge_pa

    return of


def _times(part: float) -> Callable[[float], float]:
    return lambda read: part * read


VOLTAGE_BAND = 0.10  # of the plate's voltage, up and down: common practice
FIGURES: Mapping[str, Figure] = {
    "first-stage": Figure("design-pressure", "pressure", _stage(0)),
    "half-way-stage": Figure("design-pressure", "pressure", _stage(1)),
    "full-stage": Figure("design-pressure", "pressure", _stage(2)),
    # a dial within 5 % of its pressure is common practice: nearer it cannot be set
    "least-full-stage": Figure("design-pressure", "pressure", _stage(2, 0.95)),
    "least-voltage": Figure("plate-voltage", "voltage", _times(1 - VOLTAGE_BAND)),
    "most-voltage": Figure("plate-voltage", "voltage", _times(1 + VOLTAGE_BAND)),
    "rated-current": Figure("rated-load-current", "current", _times(1)),
    "rated-fan-current": Figure("plate-fan-current", "current", _times(1)),
    "plate-figure": Figure("target-subcooling", "temperature difference", _times(1)),
    ROOM_CHARGE: Figure("refrigerant-class", "mass"),
}
OF_ANSWERS = frozenset(name for name, figure in FIGURES.items() if figure.work_out is None)
_DIGITS = {"pressure": 0, "voltage": 0}  # behind the point, as the gauges and the trade give them


def worked(limit: Limit, read_si: float, site: Site) -> Limit:
    """The limit once the reading that it follows is there, in its own unit, rounded as it is told.

    `read_si`: pressures absolute. Raises TradeError for a plate that cannot be
    (trade/nitrogen/tightness_test.py); the procedure's own limits on the reading keep those out.
    """
    figure = FIGURES[limit.figure]
    assert figure.work_out is not None  # those of OF_ANSWERS follow no reading
    zero = site.atmosphere_pa if figure.dimension == "pressure" else 0.0
    found = figure.work_out(read_si - zero) + zero
    value = _rounded(from_si(found, limit.unit, site.atmosphere_pa), figure.dimension)
    about = f"{limit.figure} of the {limit.of}".replace("-", " ")
    return replace(limit, value=value, source=f"{about}: {limit.source}")


def _rounded(value: float, dimension: str) -> Decimal:
    """230.0 -> 230, 13.50 -> 13.5."""
    text = f"{value:.{_DIGITS.get(dimension, 2)}f}"
    return Decimal(text.rstrip("0").rstrip(".") if "." in text else text)


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
