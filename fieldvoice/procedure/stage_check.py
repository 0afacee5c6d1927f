"""Faults in what a procedure says of going to a stage out of turn."""

from __future__ import annotations

from collections.abc import Iterator

from fieldvoice.language.meaning import names_under
from fieldvoice.procedure.flow import fault, one_of
from fieldvoice.procedure.limit_check import limit_use
from fieldvoice.procedure.model import Procedure, Stage
from fieldvoice.procedure.settings import ProcedureError
from fieldvoice.procedure.step import Step
from fieldvoice.quantity.quantities import quantities


def stage_faults(procedure: Procedure) -> Iterator[ProcedureError]:
    """Every name that is none: of a stage, a test, a step, a quantity or a limit."""
    for stage in procedure.stages.values():
        yield from _names(procedure, stage)
        yield from _needs(procedure, stage)
    for step in procedure.steps:
        yield from _bar(procedure, step)


def spoken_names(rule: str = "stage") -> list[str]:
    """The names of grammar/stages.lark; of "tested_stage" those that are a test."""
    return sorted(n.removeprefix("stage_").replace("_", "-") for n in names_under(rule))


def without_name(procedure: Procedure) -> list[Stage]:
    """Stages that have no spoken name: they are reached by typing their title."""
    return [stage for stage in procedure.stages.values() if not stage.called]


def _names(procedure: Procedure, stage: Stage) -> Iterator[ProcedureError]:
    for name in stage.called:
        if name not in spoken_names():
            yield fault(stage.place, f"no stage can be said as {name}",
                        f"{one_of(spoken_names())}; or take it out: its title can be typed")
    if stage.counts_as and stage.counts_as not in spoken_names():
        yield fault(stage.place, f"{stage.counts_as} is no name of a stage",
                    one_of(spoken_names()))
    if stage.part_of and stage.part_of not in spoken_names("tested_stage"):
        yield fault(stage.place, f"{stage.part_of} is no test that could be carried over",
                    one_of(spoken_names("tested_stage")))
    if stage.again is not None and stage.again not in procedure.by_name:
        yield fault(stage.place, f"unknown step {stage.again}", one_of(procedure.by_name))


def _needs(procedure: Procedure, stage: Stage) -> Iterator[ProcedureError]:
    for need in stage.needs:
        if need.quantity not in quantities():
            yield fault(need.place, f"unknown quantity {need.quantity}", one_of(quantities()))
            continue
        dimension = quantities()[need.quantity].dimension
        for name in need.limits:
            yield from limit_use(procedure, name, dimension, need.quantity, need.place)


def _bar(procedure: Procedure, step: Step) -> Iterator[ProcedureError]:
    for name in step.bar.until if step.bar else ():
        if step.bar and name not in procedure.by_name:
            yield fault(step.bar.place, f"unknown step {name}", one_of(procedure.by_name))
