"""Procedures made of others: `include` taken apart into the steps of one self-contained procedure.

What the including file defines under a name wins over what the included one has under it: a limit,
a caution, and a step too (ways that led to the included step lead to the including file's own).
Steps that are taken a second time get a prefix before their names.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any

from fieldvoice.procedure.model import Include, Procedure, Stage
from fieldvoice.procedure.settings import Criterion, Place, ProcedureError
from fieldvoice.procedure.step import Step, Way


def expand(procedure: Procedure, find: Callable[[str], Procedure]) -> Procedure:
    """The procedure with the steps of those that it includes; `find` gives one by its name.

    Raises ProcedureError for an unknown step or ending, and for steps of one name in two files.
    """
    steps: list[Step] = []
    stages = dict(procedure.stages)
    parts = [_taken_as(include, find(include.name)) for include in procedure.includes]
    done = 0
    for include, part in zip(procedure.includes, parts, strict=True):
        part = _own_stages(part, stages)
        stages.update(part.stages)
        steps += procedure.steps[done:include.before]
        entry, block = _block(include, part, procedure, {s.name for s in steps})
        if steps:
            steps[-1] = _leading_to(steps[-1], entry, include)
        steps += block
        done = include.before
    steps += procedure.steps[done:]
    there = {s.name for s in steps}
    steps = [_bar_left(s, there) for s in steps]
    _refuse_doubles(procedure, steps)
    stages = _left(stages, steps)
    limits = _used(_merged(parts, procedure, "limits"), steps, stages)
    opening = tuple(dict.fromkeys(c for p in [procedure, *parts] for c in p.opening))
    given = {*opening, *(c for s in steps for c in s.cautions)}
    cautions = _merged(parts, procedure, "cautions")
    return replace(
        procedure, includes=(), steps=tuple(steps), limits=limits, opening=opening,
        criteria=_criteria([*parts, procedure], limits),
        opening_places={k: v for p in [*parts, procedure] for k, v in p.opening_places.items()},
        cautions={name: caution for name, caution in cautions.items() if name in given},
        stages=stages,
    )


def within_file(value: Any, file: str) -> Any:
    """The procedure or any part of it, with the file named in its places that name none yet."""
    if isinstance(value, Place):
        return value if value.file else replace(value, file=file)
    if isinstance(value, tuple):
        return tuple(within_file(v, file) for v in value)
    if isinstance(value, dict):
        return {k: within_file(v, file) for k, v in value.items()}
    if is_dataclass(value) and not isinstance(value, type):
        return replace(value, **{f.name: within_file(getattr(value, f.name), file)
                                 for f in fields(value)})
    return value


def _taken_as(include: Include, part: Procedure) -> Procedure:
    """The part as it is; with a prefix, its steps from the start on and its stages renamed."""
    start = include.start or part.steps[0].name
    if start not in part.by_name:
        raise ProcedureError(include.place, f"{part.name} has no step {start}",
                             f"start at one of: {', '.join(part.by_name)}")
    if not include.prefix:
        return part
    plain = {s.name: _plain(part, s) for s in part.steps}
    own = _reached(plain, [start])
    new = {name: f"{include.prefix}-{name}" for name in own}
    stages = {s: f"{include.prefix}-{s}" for s in part.stages}
    steps = (_renamed(plain[s.name], new, stages) for s in part.steps if s.name in own)
    return replace(part, steps=tuple(steps),
                   stages={stages[k]: _stage_renamed(v, stages[k], new)
                           for k, v in part.stages.items()})


def _stage_renamed(stage: Stage, name: str, new: Mapping[str, str]) -> Stage:
    return replace(stage, name=name, again=new.get(stage.again or "", stage.again))


def _renamed(step: Step, new: Mapping[str, str], stages: Mapping[str, str]) -> Step:
    """The step under its new name, and whatever in it names a step that has a new one."""
    def text(said: str) -> str:
        return re.sub(r"\{answer\.([^}]*)\}",
                      lambda found: f"{{answer.{new.get(found[1], found[1])}}}", said)

    def way(old: Way) -> Way:
        return replace(old, to=new.get(old.to, old.to) if old.to else None)

    return replace(
        step, name=new[step.name], stage=stages[step.stage],
        say=text(step.say), show=text(step.show), why=text(step.why),
        when=tuple(replace(w, answer=new.get(w.answer, w.answer)) for w in step.when),
        needs=tuple(replace(n, otherwise=new.get(n.otherwise or "", n.otherwise))
                    for n in step.needs),
        branches=tuple(map(way, step.branches)), choices=tuple(map(way, step.choices)),
        exits=tuple(map(way, step.exits)), go=way(step.go) if step.go else None,
        repeat=replace(step.repeat, start=new[step.repeat.start]) if step.repeat else None,
        bar=replace(step.bar, until=tuple(new.get(u, u) for u in step.bar.until))
        if step.bar else None,
    )


def _own_stages(part: Procedure, taken: Mapping[str, Stage]) -> Procedure:
    """The part with its stages renamed where another file has stages of these names."""
    new = {s: f"{part.name}-{s}" if s in taken else s for s in part.stages}
    stages = {new[k]: replace(v, name=new[k]) for k, v in part.stages.items()}
    return replace(part, stages=stages,
                   steps=tuple(replace(s, stage=new[s.stage]) for s in part.steps))


def _leading_to(step: Step, entry: str, include: Include) -> Step:
    """The step before an include leads into it, unless it says otherwise."""
    if step.go is not None or step.ending is not None:
        return step
    return replace(step, go=Way("go", entry, place=include.place))


def _block(
    include: Include, part: Procedure, whole: Procedure, taken: set[str]
) -> tuple[str, list[Step]]:
    """Where an include begins, and its steps: those reached from there, or named in the whole.

    What the whole names belongs to the first part that has it: `taken` came from those before.
    """
    start = include.start or part.steps[0].name
    if include.prefix and include.start:
        start = f"{include.prefix}-{start}"
    endings = {s.ending.name for s in part.steps if s.ending}
    for way in include.outcomes:
        if way.name not in endings:
            raise ProcedureError(way.place, f"{part.name} has no ending {way.name}",
                                 f"use one of: {', '.join(sorted(endings))}")
    steps = {s.name: _led_on(_plain(part, s), include) for s in part.steps}
    named = [name for name in _named(whole) if name not in taken]
    own = {name: step for name, step in steps.items() if name not in whole.by_name}
    reached = _reached(own, [start, *named])
    return start, [s for s in steps.values() if s.name in reached]


def _plain(part: Procedure, step: Step) -> Step:
    """The step with every way written out, so that it no longer hangs on what stands below it.

    An ending under a condition would have two ways on, and a step can be led on by one only.
    """
    if step.ending and step.when:
        raise ProcedureError(step.place, f"{step.name} ends {part.name} only under a condition",
                             "to be included, it ends where a choice leads")
    below = part.destination(step, None)
    choices = tuple(replace(w, to=part.destination(step, w.to)) for w in step.choices)
    go = None if step.ending or below is None else Way("go", below, place=step.place)
    if step.go is None and not step.when and (step.branches or step.choices):
        go = None  # who skips it takes its first way on, wherever it stands
    return replace(step, choices=choices, go=go)


def _led_on(step: Step, include: Include) -> Step:
    """The step, with its ending led on where the include says so."""
    outcome = next((w for w in include.outcomes
                    if step.ending and w.name == step.ending.name), None)
    if outcome is None:
        return step
    return replace(step, ending=None, go=Way("go", outcome.to, place=outcome.place))


def _named(whole: Procedure) -> list[str]:
    """Steps that the including file itself leads to."""
    found = [name for step in whole.steps for name in _targets(step)]
    return found + [way.to for v in whole.includes for way in v.outcomes if way.to]


def _reached(steps: Mapping[str, Step], starts: list[str]) -> set[str]:
    """Those of the steps that the starts lead to, themselves among them."""
    reached, waiting = set[str](), list(starts)
    while waiting:
        name = waiting.pop()
        if name in steps and name not in reached:
            reached.add(name)
            waiting += _targets(steps[name])
    return reached


def _targets(step: Step) -> list[str]:
    found = [w.to for w in step.ways] + [n.otherwise for n in step.needs]
    found += [step.go.to if step.go else None, step.repeat.start if step.repeat else None]
    return [name for name in found if name]


def _refuse_doubles(procedure: Procedure, steps: list[Step]) -> None:
    seen: dict[str, Step] = {}
    for step in steps:
        if step.name in seen:
            what = (f"two of the included procedures have a step {step.name} "
                    f"({seen[step.name].place}; {step.place})")
            raise ProcedureError(procedure.includes[-1].place, what,
                                 "rename one of them, or write that step here")
        seen[step.name] = step


def _merged(parts: list[Procedure], procedure: Procedure, what: str) -> dict[str, Any]:
    """Named limits or cautions of all files; those of the including file win."""
    own = getattr(procedure, what)
    found: dict[str, Any] = {}
    for part in parts:
        for name, new in getattr(part, what).items():
            old = found.setdefault(name, new)
            if replace(old, place=new.place) != new and name not in own:
                raise ProcedureError(
                    procedure.includes[-1].place,
                    f"{what} named {name} differ between the included procedures "
                    f"({old.place}; {new.place})",
                    f"write {name} here, as it should be in this one",
                )
    return {**found, **own}


def _bar_left(step: Step, there: set[str]) -> Step:
    """The step without what would open its way back, where that was left out."""
    if step.bar is None:
        return step
    return replace(step, bar=replace(
        step.bar, until=tuple(u for u in step.bar.until if u in there)))


def _left(stages: Mapping[str, Stage], steps: list[Step]) -> dict[str, Stage]:
    """Stages that still have steps, without what they say of steps that were left out."""
    names, used = {s.name for s in steps}, {s.stage for s in steps}
    return {name: stage if stage.again in names else replace(stage, again=None)
            for name, stage in stages.items() if name in used}


def _used(
    limits: Mapping[str, Any], steps: list[Step], stages: Mapping[str, Stage]
) -> dict[str, Any]:
    """Limits that some step or stage still uses; those of steps that were left out go, too."""
    text = " ".join(f"{s.say} {s.show} {s.why}" for s in steps)
    names = {name for s in steps for name in s.limits}
    names |= {name for v in stages.values() for need in v.needs for name in need.limits}
    return {k: v for k, v in limits.items() if k in names or f"{{limit.{k}}}" in text}


def _criteria(parts: list[Procedure], limits: Mapping[str, Any]) -> dict[str, Criterion]:
    """Criteria of one name are taken together: each sets those limits of its file that are left."""
    found: dict[str, Criterion] = {}
    for part in parts:
        for name, criterion in part.criteria.items():
            before = found[name].settings if name in found else ()
            new = tuple(s for s in criterion.settings if s.name in limits)
            kept = tuple(s for s in before if s.name not in {t.name for t in new})
            if kept + new:
                found[name] = replace(criterion, settings=kept + new)
    return found
