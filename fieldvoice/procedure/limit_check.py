"""The limits of a procedure: do they fit what they are compared with, and each other?"""

from __future__ import annotations

from collections.abc import Iterator

from fieldvoice.procedure.derived_limits import FIGURES
from fieldvoice.procedure.flow import fault, one_of, placeholders
from fieldvoice.procedure.model import Procedure
from fieldvoice.procedure.settings import Limit, Place, ProcedureError
from fieldvoice.procedure.step import Need
from fieldvoice.quantity.convert import to_si
from fieldvoice.quantity.units import UNITS


def limit_faults(procedure: Procedure) -> Iterator[ProcedureError]:
    """Limits with unknown units, and criteria that do not fit them."""
    for limit in procedure.limits.values():
        yield from _unit_fault(limit)
    for criterion in procedure.criteria.values():
        for setting in criterion.settings:
            base = procedure.limits.get(setting.name)
            if base is None:
                yield fault(setting.place, f"unknown limit {setting.name}",
                             one_of(procedure.limits))
            elif dimension_of(setting) != dimension_of(base):
                yield fault(setting.place, f"{setting.unit} does not fit limit {setting.name}",
                             f"give it in {base.unit} or alike")


def _unit_fault(limit: Limit) -> Iterator[ProcedureError]:
    if limit.unit not in UNITS:
        yield fault(limit.place, f"unknown unit {limit.unit}", one_of(UNITS))
    elif limit.figure:
        yield from _figure_fault(limit)


def _figure_fault(limit: Limit) -> Iterator[ProcedureError]:
    figure = FIGURES.get(limit.figure)
    if figure is None:
        yield fault(limit.place, f"nothing is worked out as {limit.figure}", one_of(FIGURES))
    elif limit.of != figure.quantity:
        yield fault(limit.place, f"{limit.figure} is no figure of {limit.of}",
                    f"write: then {limit.figure} of {figure.quantity}")
    elif dimension_of(limit) != figure.dimension:
        yield fault(limit.place, f"{limit.figure} is a {figure.dimension}, not in {limit.unit}",
                    f"give the limit in a unit that measures {figure.dimension}")


def unused(procedure: Procedure) -> Iterator[ProcedureError]:
    """Limits and cautions that nothing names."""
    limits = set(_limits_used(procedure))
    cautions = {*procedure.opening, *(c for s in procedure.steps for c in s.cautions)}
    for limit in procedure.limits.values():
        if limit.name not in limits:
            yield fault(limit.place, f"limit {limit.name} is never used",
                         "use it in a step or take it out")
    for caution in procedure.cautions.values():
        if caution.name not in cautions:
            yield fault(caution.place, f"caution {caution.name} is never given",
                         "name it in a step or take it out")


def _limits_used(procedure: Procedure) -> Iterator[str]:
    for step in procedure.steps:
        yield from step.limits
        for _, key in placeholders(step):
            yield key.removeprefix("limit.")
    for stage in procedure.stages.values():
        yield from (name for need in stage.needs for name in need.limits)


def limit_use(
    procedure: Procedure, name: str, dimension: str, what: str, place: Place
) -> Iterator[ProcedureError]:
    """A limit named where something of a certain dimension is wanted."""
    limit = procedure.limits.get(name)
    if limit is None:
        yield fault(place, f"unknown limit {name}", one_of(procedure.limits))
    elif dimension_of(limit) not in (dimension, None):
        yield fault(place, f"limit {name} is in {limit.unit}, but {what} is a {dimension}",
                     f"use a limit whose unit measures {dimension}")


def contradictions(procedure: Procedure) -> list[ProcedureError]:
    """Readings that no value can meet; a site's own limits can make them so."""
    return [found for step in procedure.steps for need in step.needs
            for found in nothing_between(procedure, need)]


def nothing_between(procedure: Procedure, need: Need) -> Iterator[ProcedureError]:
    """A need whose lower limit lies above its upper one."""
    low, high = (procedure.limits.get(name or "") for name in (need.low, need.high))
    if low and high and dimension_of(low) == dimension_of(high) is not None and above(low, high):
        yield fault(need.place, f"nothing lies between {low} and {high}",
                     "write the lower limit first, or change one of them")


def above(one: Limit, other: Limit) -> bool:
    """Whether one limit is more than another."""
    if one.unit == other.unit:  # spares the loading of the unit library
        return one.value > other.value
    return _si(one) > _si(other)


def _si(limit: Limit) -> float:
    return to_si(limit.value, limit.unit)


def dimension_of(limit: Limit) -> str | None:
    """What a limit's unit measures; None for an unknown unit."""
    unit = UNITS.get(limit.unit)
    return None if unit is None else unit.dimension
