"""Does a procedure make sense? Every fault with its place and what to do; `load` refuses faults."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from fieldvoice.job.procedure import (
    CHECKED,
    CHECKS,
    VERDICTS,
    Limit,
    Need,
    Place,
    Procedure,
    ProcedureError,
    Step,
)
from fieldvoice.job.procedure_text import parse
from fieldvoice.job.quantities import quantities
from fieldvoice.job.units import UNITS

MOST_WORDS = 12  # of a spoken prompt: more is not kept in mind while the hands work
PLACEHOLDER = re.compile(r"\{([^}]*)\}")


def load(text: str) -> Procedure:
    """Read and check a procedure; raises the first ProcedureError in the order of the text."""
    procedure = parse(text)
    faults = check(procedure)
    if faults:
        raise faults[0]
    return procedure


def check(procedure: Procedure) -> list[ProcedureError]:
    """Every fault of meaning, in the order of the text."""
    found = [
        *_limit_faults(procedure), *_caution_faults(procedure),
        *(fault for step in procedure.steps for fault in _step_faults(procedure, step)),
    ]
    if not found:  # the flow can only be judged when every name is known
        found = [*_flow_faults(procedure), *_early_use(procedure)]
    if not found:  # a misspelt use would also look like this
        found = [*_unused(procedure)]
    return sorted(found, key=lambda f: (f.line, f.column))


def ways(procedure: Procedure, step: Step) -> list[str | None]:
    """Where a step can lead, without skipping it; None: below the last step."""
    found: list[str | None] = [need.otherwise for need in step.needs if need.otherwise]
    found += [procedure.destination(step, way.to) for way in step.ways]
    if step.repeat:
        found.append(step.repeat.start)
    if step.when or not (step.branches or step.choices or step.ending):
        found.append(procedure.destination(step, None))
    return list(dict.fromkeys(found))


def _fault(place: Place, what: str, advice: str) -> ProcedureError:
    return ProcedureError(place, what, advice)


def _one_of(names: Iterable[str]) -> str:
    listed = sorted(names)
    return f"use one of: {', '.join(listed)}" if listed else "there is none yet: write it first"


# --- limits and cautions ------------------------------------------------------------------------


def _limit_faults(procedure: Procedure) -> Iterator[ProcedureError]:
    for limit in procedure.limits.values():
        yield from _unit_fault(limit)
    for criterion in procedure.criteria.values():
        for setting in criterion.settings:
            base = procedure.limits.get(setting.name)
            if base is None:
                yield _fault(setting.place, f"unknown limit {setting.name}",
                             _one_of(procedure.limits))
            elif _dimension(setting) != _dimension(base):
                yield _fault(setting.place, f"{setting.unit} does not fit limit {setting.name}",
                             f"give it in {base.unit} or alike")


def _unit_fault(limit: Limit) -> Iterator[ProcedureError]:
    if limit.unit not in UNITS:
        yield _fault(limit.place, f"unknown unit {limit.unit}", _one_of(UNITS))


def _dimension(limit: Limit) -> str | None:
    unit = UNITS.get(limit.unit)
    return None if unit is None else unit.dimension


def _unused(procedure: Procedure) -> Iterator[ProcedureError]:
    limits = set(_limits_used(procedure))
    cautions = {*procedure.opening, *(c for s in procedure.steps for c in s.cautions)}
    for limit in procedure.limits.values():
        if limit.name not in limits:
            yield _fault(limit.place, f"limit {limit.name} is never used",
                         "use it in a step or take it out")
    for caution in procedure.cautions.values():
        if caution.name not in cautions:
            yield _fault(caution.place, f"caution {caution.name} is never given",
                         "name it in a step or take it out")


def _limits_used(procedure: Procedure) -> Iterator[str]:
    for step in procedure.steps:
        for need in step.needs:
            yield from (name for name in (need.low, need.high) if name)
        if step.hold:
            yield from (name for name in (step.hold.duration, step.hold.limit) if name)
        if step.check and step.check.limit:
            yield step.check.limit
        for key in _placeholders(step):
            yield key.removeprefix("limit.")


def _caution_faults(procedure: Procedure) -> Iterator[ProcedureError]:
    for name in procedure.opening:
        if name not in procedure.cautions:
            yield _fault(Place(1, 1), f"unknown caution {name} in begin with",
                         _one_of(procedure.cautions))


# --- one step -----------------------------------------------------------------------------------


def _step_faults(procedure: Procedure, step: Step) -> Iterator[ProcedureError]:
    where = f"step {step.name}"
    words = len(PLACEHOLDER.sub("value", step.say).split())
    if not words:
        yield _fault(step.place, f"{where} says nothing", 'give it: say "one short action"')
    if words > MOST_WORDS:
        yield _fault(step.place, f"{where} says {words} words",
                     f"say it in at most {MOST_WORDS}; put the rest under show or why")
    for name in step.cautions:
        if name not in procedure.cautions:
            yield _fault(step.place, f"unknown caution {name} in {where}",
                         _one_of(procedure.cautions))
    for need in step.needs:
        yield from _need_faults(procedure, need)
    yield from _hold_faults(procedure, step)
    yield from _check_faults(procedure, step)
    yield from _way_faults(procedure, step)
    yield from _placeholder_faults(procedure, step)


def _need_faults(procedure: Procedure, need: Need) -> Iterator[ProcedureError]:
    if need.quantity not in quantities():
        yield _fault(need.place, f"unknown quantity {need.quantity}", _one_of(quantities()))
        return
    dimension = quantities()[need.quantity].dimension
    for name in (need.low, need.high):
        if name:
            yield from _limit_use(procedure, name, dimension, need.quantity, need.place)
    if need.otherwise and not (need.low or need.high):
        yield _fault(need.place, f"reading {need.quantity} has an else but no limit",
                     "add: at most LIMIT, or take the else out")
    yield from _target(procedure, need.otherwise, need.place)


def _limit_use(
    procedure: Procedure, name: str, dimension: str, what: str, place: Place
) -> Iterator[ProcedureError]:
    limit = procedure.limits.get(name)
    if limit is None:
        yield _fault(place, f"unknown limit {name}", _one_of(procedure.limits))
    elif _dimension(limit) not in (dimension, None):
        yield _fault(place, f"limit {name} is in {limit.unit}, but {what} is a {dimension}",
                     f"use a limit whose unit measures {dimension}")


def _hold_faults(procedure: Procedure, step: Step) -> Iterator[ProcedureError]:
    hold = step.hold
    yield from _branch_faults(step)
    if hold is None:
        return
    yield from _limit_use(procedure, hold.duration, "time", "a hold's duration", hold.place)
    if hold.quantity is not None and hold.quantity not in quantities():
        yield _fault(hold.place, f"unknown quantity {hold.quantity}", _one_of(quantities()))
    if hold.judge is None:
        return
    if hold.judge not in VERDICTS:
        yield _fault(hold.place, f"nothing is judged as {hold.judge}", _one_of(VERDICTS))
        return
    assert hold.limit is not None
    yield from _limit_use(procedure, hold.limit, "pressure", f"judge {hold.judge}", hold.place)
    if hold.quantity is None:
        yield _fault(hold.place, f"judge {hold.judge} without readings",
                     "add: ask QUANTITY at 0 1 2 5 min")


def _check_faults(procedure: Procedure, step: Step) -> Iterator[ProcedureError]:
    check = step.check
    if check is None:
        return
    if check.kind not in CHECKS:
        yield _fault(check.place, f"nothing is checked as {check.kind}", _one_of(CHECKS))
    elif check.limit is not None:
        yield from _limit_use(procedure, check.limit, "temperature difference",
                              f"check {check.kind}", check.place)
    elif check.kind == "subcooling":
        yield _fault(check.place, "check subcooling without a target",
                     "name the limit that holds the target of the nameplate")
    if step.hold is not None:
        yield _fault(check.place, f"step {step.name} has a hold and a check",
                     "make two steps of it")


def _branch_faults(step: Step) -> Iterator[ProcedureError]:
    """Every verdict has its way on, and every way on its verdict."""
    judge = step.check or (step.hold if step.hold and step.hold.judge else None)
    there = [way.name for way in step.branches]
    for verdict in step.verdicts:
        if verdict not in there and judge is not None:
            yield _fault(judge.place, f"step {step.name} has no way on for {verdict}",
                         f"add: on {verdict} go to STEP")
    for way in step.branches:
        if judge is None:
            yield _fault(way.place, f"on {way.name}, but step {step.name} judges nothing",
                         "give it a hold with judge, or a check, or use choose")
        elif step.verdicts and way.name not in step.verdicts:
            yield _fault(way.place, f"{way.name} is no verdict of step {step.name}",
                         _one_of(step.verdicts))


def _way_faults(procedure: Procedure, step: Step) -> Iterator[ProcedureError]:
    for way in step.ways + ((step.go,) if step.go else ()):
        yield from _target(procedure, way.to, way.place)
    names = [way.name for way in step.ways]
    for way in step.ways:
        if names.count(way.name) > 1:
            yield _fault(way.place, f"{way.name} leads two ways", "keep one of them")
    if len(step.choices) == 1:
        yield _fault(step.choices[0].place, f"step {step.name} offers only one choice",
                     "add another choose, or take it out")
    if step.repeat:
        yield from _target(procedure, step.repeat.start, step.repeat.place)
    for when in step.when:
        asked = procedure.by_name.get(when.answer)
        options = {way.name for way in asked.choices} if asked else set()
        if not options:
            yield _fault(when.place, f"{when.answer} is no step with choices",
                         _one_of(s.name for s in procedure.steps if s.choices))
        for option in set(when.options) - options if options else ():
            yield _fault(when.place, f"{when.answer} has no choice {option}", _one_of(options))


def _target(procedure: Procedure, to: str | None, place: Place) -> Iterator[ProcedureError]:
    if to is not None and to not in procedure.by_name:
        yield _fault(place, f"unknown step {to}", _one_of(procedure.by_name))


def _placeholders(step: Step) -> list[str]:
    return PLACEHOLDER.findall(" ".join((step.say, step.show, step.why)))


def _placeholder_faults(procedure: Procedure, step: Step) -> Iterator[ProcedureError]:
    for key in _placeholders(step):
        what, _, name = key.partition(".")
        known = {
            "limit": name in procedure.limits, "hold": name in ("remaining", "title"),
            "lap": not name, "laps": not name,
            "answer": name in procedure.by_name,
        }.get(what, what in quantities() and name == "last")
        if not known:
            yield _fault(step.place, f"{{{key}}} in step {step.name} means nothing",
                         "use {QUANTITY.last}, {hold.remaining}, {limit.NAME}, {answer.STEP} "
                         "or {lap} of {laps}")


# --- the flow -----------------------------------------------------------------------------------


def _flow_faults(procedure: Procedure) -> Iterator[ProcedureError]:
    edges = {s.name: ways(procedure, s) for s in procedure.steps}
    open_ended = [s for s in procedure.steps if None in edges[s.name]]
    for step in open_ended:
        yield _fault(step.place, f"step {step.name} is last and leads nowhere",
                     "add: end NAME, or go to STEP")
    reached = _closure({procedure.steps[0].name}, edges)
    stray = [s for s in procedure.steps if s.name not in reached and not open_ended]
    for step in stray:
        yield _fault(step.place, f"step {step.name} is never reached",
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
    for step in procedure.steps:
        if step.name not in ending:
            yield _fault(step.place, f"from step {step.name} no ending can be reached",
                         "give the loop a way out, or add: end NAME")


def _closure(start: set[str], edges: dict[str, list[str | None]]) -> set[str]:
    found, waiting = set(start), list(start)
    while waiting:
        for target in edges[waiting.pop()]:
            if target is not None and target not in found:
                found.add(target)
                waiting.append(target)
    return found


def _early_use(procedure: Procedure) -> Iterator[ProcedureError]:
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
        for key in _placeholders(step):
            what, _, name = key.partition(".")
            if name == "last" and what in everything - before[step.name]:
                yield _fault(step.place, f"{{{key}}} in step {step.name} may not be there yet",
                             f"read {what} in every step that leads here")
        known = before[step.name] | _taken(step)
        for quantity in CHECKED.get(step.check.kind, ()) if step.check else ():
            if quantity not in known and step.check:
                yield _fault(step.check.place, f"check {step.check.kind} before {quantity} is read",
                             f"add: read {quantity}, here or in a step that leads here")


def _taken(step: Step) -> frozenset[str]:
    held = {step.hold.quantity} if step.hold and step.hold.quantity else set()
    return frozenset({need.quantity for need in step.needs} | held)
