"""What must hold on every path of a procedure: facts that steps bring about and undo."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from fieldvoice.procedure.flow import ways
from fieldvoice.procedure.model import Procedure
from fieldvoice.procedure.step import Step

Sort = Callable[[Step], bool]


def unproved(
    procedure: Procedure, *, wanted: Sort, brings: Sort, undoes: Sort, at_first: bool = False
) -> list[str]:
    """Names of `wanted` steps that some path reaches without the fact, or after it was undone.

    A step that brings the fact and undoes it counts as bringing it. Every way on counts, skipping
    a step does not: a gate is left undone only for a reason and after a yes.
    """
    holds = {s.name: True for s in procedure.steps}
    holds[procedure.steps[0].name] = at_first
    waiting = [procedure.steps[0].name]
    seen = set(waiting)
    while waiting:
        step = procedure.step(waiting.pop())
        after = brings(step) or (holds[step.name] and not undoes(step))
        for target, applied in _ways(procedure, step):
            known = after if applied else holds[step.name]
            if target not in seen or (holds[target] and not known):
                holds[target] = holds[target] and known
                seen.add(target)
                waiting.append(target)
    return [s.name for s in procedure.steps if s.name in seen and wanted(s) and not holds[s.name]]


def _ways(procedure: Procedure, step: Step) -> Iterator[tuple[str, bool]]:
    """Where a step leads, and whether it was done then: one that does not apply is passed over.

    A reading outside its limits leaves the step without what it brings.
    """
    outside = {need.otherwise for need in step.needs}
    for target in ways(procedure, step):
        if target is not None:
            yield target, target not in outside
    below = procedure.destination(step, None) if step.when else None
    if below is not None:
        yield below, False


def reached_from(procedure: Procedure, start: str, *, stopped_by: Callable[[Step, str], bool]
                 ) -> set[str]:
    """Steps that some path from a step comes to; `stopped_by(step, target)` ends a path there."""
    found, waiting = set[str](), [start]
    while waiting:
        step = procedure.step(waiting.pop())
        for target in ways(procedure, step):
            if target is not None and target not in found and not stopped_by(step, target):
                found.add(target)
                waiting.append(target)
    return found
