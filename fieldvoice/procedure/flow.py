"""The flow of a procedure: where steps lead, and faults that only the whole shows."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from fieldvoice.procedure.model import Procedure
from fieldvoice.procedure.settings import Place, ProcedureError
from fieldvoice.procedure.step import Step
from fieldvoice.procedure.verdicts import CHECKED, CLOSING
from fieldvoice.quantity.quantities import quantities

PLACEHOLDER = re.compile(r"\{([^}]*)\}")


def ways(procedure: Procedure, step: Step) -> list[str | None]:
    """Where a step can lead, without skipping it; None: below the last step."""
    found: list[str | None] = [need.otherwise for need in step.needs if need.otherwise]
    found += [procedure.destination(step, way.to) for way in step.ways]
    if step.repeat:
        found.append(step.repeat.start)
    if step.when or not (step.branches or step.choices or step.ending):
        found.append(procedure.destination(step, None))
    return list(dict.fromkeys(found))


def fault(place: Place, what: str, advice: str) -> ProcedureError:
    """One fault."""
    return ProcedureError(place, what, advice)


def one_of(names: Iterable[str]) -> str:
    """Advice that lists the names there are."""
    listed = sorted(names)
    return f"use one of: {', '.join(listed)}" if listed else "there is none yet: write it first"


def placeholders(step: Step) -> list[tuple[str, str]]:
    """What stands in braces in the texts of a step, behind the keyword of its text."""
    texts = {"say": step.say, "show": step.show, "why": step.why}
    return [(part, key) for part, text in texts.items() for key in PLACEHOLDER.findall(text)]


def flow_faults(procedure: Procedure) -> Iterator[ProcedureError]:
    """Steps that lead nowhere, are never reached, or from which no ending is reached."""
    edges = {s.name: ways(procedure, s) for s in procedure.steps}
    open_ended = [s for s in procedure.steps if None in edges[s.name]]
    for step in open_ended:
        yield fault(step.place, f"step {step.name} is last and leads nowhere",
                     "add: end NAME, or go to STEP")
    reached = _closure({procedure.steps[0].name}, edges)
    stray = [s for s in procedure.steps if s.name not in reached and not open_ended]
    led_to = {to for s in stray for to in edges[s.name] if to != s.name}
    roots = [s for s in stray if s.name not in led_to] or stray[:1]  # the rest follows from them
    for step in roots:
        yield fault(step.place, f"step {step.name} is never reached",
                     "lead to it with go to, on, choose or else, or take it out")
    if not open_ended and not stray:
        yield from _endless(procedure, edges)


def _endless(
    procedure: Procedure, edges: dict[str, list[str | None]]
) -> Iterator[ProcedureError]:
    back: dict[str, list[str | None]] = {s.name: [] for s in procedure.steps}
    for name, targets in edges.items():
        for target in targets:
            if target is not None:
                back[target].append(name)
    ending = _closure({s.name for s in procedure.steps if s.ending}, back)
    caught = [step for step in procedure.steps if step.name not in ending]
    if caught:
        others = ", ".join(step.name for step in caught[1:])
        yield fault(caught[0].place, f"from step {caught[0].name} no ending can be reached"
                     + (f", nor from {others}" if others else ""),
                     "give the loop a way out, or add: end NAME")


def _closure(start: set[str], edges: dict[str, list[str | None]]) -> set[str]:
    found, waiting = set(start), list(start)
    while waiting:
        for target in edges[waiting.pop()]:
            if target is not None and target not in found:
                found.add(target)
                waiting.append(target)
    return found


def early_use(procedure: Procedure) -> Iterator[ProcedureError]:
    """Placeholders of readings that some path has not taken when the step is reached."""
    everything = frozenset(quantities())
    before = {s.name: everything for s in procedure.steps}
    before[procedure.steps[0].name] = frozenset()
    waiting = [procedure.steps[0].name]
    while waiting:
        step = procedure.step(waiting.pop())
        passed_over = procedure.destination(step, None) if step.when else None
        for target in ways(procedure, step):
            after = before[step.name] | (frozenset() if target == passed_over else _taken(step))
            if target is not None and not before[target] <= after:
                before[target] &= after
                waiting.append(target)
    for step in procedure.steps:
        for part, key in placeholders(step):
            what, _, name = key.partition(".")
            if name == "last" and what in everything - before[step.name]:
                yield fault(step.at(part), f"{{{key}}} in step {step.name} may not be there yet",
                             f"read {what} in every step that leads here")
        for when in step.when:
            if when.limits and when.answer not in before[step.name]:
                yield fault(when.place, f"only when {when.answer}, before it is read",
                             f"read {when.answer} in every step that leads here")
        known = before[step.name] | _taken(step)
        for quantity in CHECKED.get(step.check.kind, ()) if step.check else ():
            if quantity not in known and step.check:
                yield fault(step.check.place, f"check {step.check.kind} before {quantity} is read",
                             f"add: read {quantity}, here or in a step that leads here")
        hold = step.hold
        for quantity in CLOSING.get(hold.judge or "", ()) if hold else ():
            if quantity not in known and hold:
                yield fault(hold.place, f"judge {hold.judge} before {quantity} is read",
                             f"add: read {quantity}, so that start and end can be compared")


def _taken(step: Step) -> frozenset[str]:
    held = {step.hold.quantity} if step.hold and step.hold.quantity else set()
    return frozenset({need.quantity for need in step.needs} | held)
