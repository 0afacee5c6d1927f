"""Does a procedure make sense? Every fault with its place and what to do; `load` refuses faults."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from fieldvoice.procedure.flow import (
    PLACEHOLDER,
    early_use,
    fault,
    flow_faults,
    one_of,
    placeholders,
    ways,
)
from fieldvoice.procedure.limit_check import (
    above,
    dimension_of,
    limit_faults,
    limit_use,
    nothing_between,
    unused,
)
from fieldvoice.procedure.model import Procedure
from fieldvoice.procedure.prompt_words import lists, spoken_words
from fieldvoice.procedure.reader import parse
from fieldvoice.procedure.settings import Place, ProcedureError
from fieldvoice.procedure.stage_check import stage_faults
from fieldvoice.procedure.step import Hold, Need, Step, When
from fieldvoice.procedure.verdicts import CHECKS, JUDGED, VERDICTS
from fieldvoice.quantity.facts import called, facts
from fieldvoice.quantity.quantities import quantities

__all__ = ["MOST_WORDS", "PLACEHOLDER", "check", "load", "ways"]

MOST_WORDS = 12  # of a spoken prompt: more is not kept in mind while the hands work


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
        *limit_faults(procedure), *_caution_faults(procedure), *stage_faults(procedure),
        *(fault for step in procedure.steps for fault in _step_faults(procedure, step)),
    ]
    if not found:  # the flow can only be judged when every name is known
        found = [*flow_faults(procedure), *early_use(procedure)]
    if not found:  # a misspelt use would also look like this
        found = [*unused(procedure)]
    return sorted(found, key=lambda f: (f.place.file, f.line, f.column))  # this file's own first


def _caution_faults(procedure: Procedure) -> Iterator[ProcedureError]:
    for name in procedure.opening:
        if name not in procedure.cautions:
            where = procedure.opening_places.get(name, Place(1, 1))
            yield fault(where, f"unknown caution {name} in begin with",
                         one_of(procedure.cautions))


# --- one step -----------------------------------------------------------------------------------


def _step_faults(procedure: Procedure, step: Step) -> Iterator[ProcedureError]:
    where = f"step {step.name}"
    words = spoken_words(procedure, step.say)
    if not words:
        yield fault(step.place, f"{where} says nothing", 'give it: say "one short action"')
    if words > MOST_WORDS:
        yield fault(step.at("say"), f"{where} says {words} words",
                     f"say it in at most {MOST_WORDS}; put the rest under show or why")
    elif lists(step.say):
        yield fault(step.at("say"), f"{where} lists several things at once",
                     "make a step of each, or put the list under show")
    for name in step.cautions:
        if name not in procedure.cautions:
            yield fault(step.at(name), f"unknown caution {name} in {where}",
                         one_of(procedure.cautions))
    for need in step.needs:
        yield from _need_faults(procedure, need)
    yield from _know_faults(step)
    yield from _hold_faults(procedure, step)
    if step.timer:
        yield from limit_use(procedure, step.timer.duration, "time", "a timer", step.timer.place)
    if step.once and (step.needs or step.hold or step.choices or step.check):
        yield fault(step.place, f"{where} is done once a job, but reads, chooses or waits",
                    "take once out: each unit has values of its own")
    yield from _check_faults(procedure, step)
    yield from _way_faults(procedure, step)
    yield from _placeholder_faults(procedure, step)


def _need_faults(procedure: Procedure, need: Need) -> Iterator[ProcedureError]:
    if need.quantity not in quantities():
        yield fault(need.place, f"unknown quantity {need.quantity}", one_of(quantities()))
        return
    dimension = quantities()[need.quantity].dimension
    for name in need.limits:
        yield from limit_use(procedure, name, dimension, need.quantity, need.place)
    yield from nothing_between(procedure, need)
    if need.otherwise and not (need.low or need.high):
        yield fault(need.place, f"reading {need.quantity} has an else but no limit",
                     "add: at most LIMIT, or take the else out")
    yield from _target(procedure, need.otherwise, need.place)


def _know_faults(step: Step) -> Iterator[ProcedureError]:
    know = step.know
    if know is None:
        return
    if know.fact not in facts():
        yield fault(know.place, f"unknown fact {know.fact}", one_of(facts()))
    if step.needs or step.hold or step.check or step.choices or step.exits:
        yield fault(know.place, f"step {step.name} waits for more than the {called(know.fact)}",
                     "make two steps of it: one is passed over where the fact is known")


def _hold_faults(procedure: Procedure, step: Step) -> Iterator[ProcedureError]:
    hold = step.hold
    yield from _branch_faults(step)
    if hold is None:
        return
    yield from limit_use(procedure, hold.duration, "time", "a hold's duration", hold.place)
    if hold.quantity is not None and hold.quantity not in quantities():
        yield fault(hold.place, f"unknown quantity {hold.quantity}", one_of(quantities()))
    yield from _length_faults(procedure, hold)
    if hold.judge is None:
        return
    if hold.judge not in VERDICTS:
        yield fault(hold.place, f"nothing is judged as {hold.judge}", one_of(VERDICTS))
        return
    assert hold.limit is not None
    yield from limit_use(procedure, hold.limit, "pressure", f"judge {hold.judge}", hold.place)
    if hold.forgiven is not None and hold.judge != "nitrogen":
        yield fault(hold.place, f"judge {hold.judge} forgives nothing", "take its last limit out")
    elif hold.forgiven is not None:
        yield from limit_use(procedure, hold.forgiven, "ratio", "what is forgiven", hold.place)
    if hold.quantity is None:
        yield fault(hold.place, f"judge {hold.judge} without readings",
                     f"add: ask {JUDGED[hold.judge]} at 0 1 2 5 min")
    elif hold.quantity in quantities() and hold.quantity != JUDGED[hold.judge]:
        yield fault(hold.place, f"judge {hold.judge} cannot work with {hold.quantity}",
                     f"ask {JUDGED[hold.judge]} instead")


def _length_faults(procedure: Procedure, hold: Hold) -> Iterator[ProcedureError]:
    """A hold lasts, and what it asks for comes before its end."""
    length = procedure.limits.get(hold.duration)
    if length is None or dimension_of(length) != "time":
        return
    if length.value <= 0:
        yield fault(hold.place, f"a hold of {length} is no hold", "give its limit some time")
    elif hold.marks and not above(length, replace(length, value=hold.marks[-1], unit="min")):
        yield fault(hold.place, f"minute {hold.marks[-1]} comes after a hold of {length}",
                     "take that minute out, or lengthen the hold")


def _check_faults(procedure: Procedure, step: Step) -> Iterator[ProcedureError]:
    check = step.check
    if check is None:
        return
    if check.kind not in CHECKS:
        yield fault(check.place, f"nothing is checked as {check.kind}", one_of(CHECKS))
    elif check.limit is not None:
        yield from limit_use(procedure, check.limit, "temperature difference",
                              f"check {check.kind}", check.place)
    elif check.kind == "subcooling":
        yield fault(check.place, "check subcooling without a target",
                     "name the limit that holds the target of the nameplate")
    if step.hold is not None:
        yield fault(check.place, f"step {step.name} has a hold and a check",
                     "make two steps of it")


def _branch_faults(step: Step) -> Iterator[ProcedureError]:
    """Every verdict has its way on, and every way on its verdict."""
    judge = step.check or (step.hold if step.hold and step.hold.judge else None)
    there = [way.name for way in step.branches]
    for verdict in step.verdicts:
        if verdict not in there and judge is not None:
            yield fault(judge.place, f"step {step.name} has no way on for {verdict}",
                         f"add: on {verdict} go to STEP")
    for way in step.branches:
        if judge is None:
            yield fault(way.place, f"on {way.name}, but step {step.name} judges nothing",
                         "give it a hold with judge, or a check, or use choose")
        elif step.verdicts and way.name not in step.verdicts:
            yield fault(way.place, f"{way.name} is no verdict of step {step.name}",
                         one_of(step.verdicts))


def _way_faults(procedure: Procedure, step: Step) -> Iterator[ProcedureError]:
    for way in step.ways + ((step.go,) if step.go else ()):
        yield from _target(procedure, way.to, way.place)
    for n, way in enumerate(step.ways):
        if way.name in [earlier.name for earlier in step.ways[:n]]:
            yield fault(way.place, f"{way.name} leads two ways", "keep one of them")
    if len(step.choices) == 1:
        yield fault(step.choices[0].place, f"step {step.name} offers only one choice",
                     "add another choose, or take it out")
    if step.repeat:
        yield from _target(procedure, step.repeat.start, step.repeat.place)
        names = list(procedure.by_name)
        if step.repeat.start in names[names.index(step.name) + 1:]:
            yield fault(step.repeat.place, f"repeat from {step.repeat.start}, which comes later",
                         "repeat from this step or from one above it")
    for when in step.when:
        yield from _when_faults(procedure, when)


def _when_faults(procedure: Procedure, when: When) -> Iterator[ProcedureError]:
    if when.limits and when.answer not in quantities():
        yield fault(when.place, f"unknown quantity {when.answer}", one_of(quantities()))
    elif when.limits:
        dimension = quantities()[when.answer].dimension
        for name in when.limits:
            yield from limit_use(procedure, name, dimension, when.answer, when.place)
    else:
        asked = procedure.by_name.get(when.answer)
        options = {way.name for way in asked.choices} if asked else set()
        if not options:
            yield fault(when.place, f"{when.answer} is no step with choices",
                         one_of(s.name for s in procedure.steps if s.choices))
        for option in set(when.options) - options if options else ():
            yield fault(when.place, f"{when.answer} has no choice {option}", one_of(options))


def _target(procedure: Procedure, to: str | None, place: Place) -> Iterator[ProcedureError]:
    if to is not None and to not in procedure.by_name:
        yield fault(place, f"unknown step {to}", one_of(procedure.by_name))


def _placeholder_faults(procedure: Procedure, step: Step) -> Iterator[ProcedureError]:
    for part, key in placeholders(step):
        what, _, name = key.partition(".")
        known = {
            "limit": name in procedure.limits, "hold": name in ("remaining", "title"),
            "lap": not name, "laps": not name,
            "answer": name in procedure.by_name,
        }.get(what, what in quantities() and name == "last")
        if not known:
            yield fault(step.at(part), f"{{{key}}} in step {step.name} means nothing",
                         "use {QUANTITY.last}, {hold.remaining}, {limit.NAME}, {answer.STEP} "
                         "or {lap} of {laps}")
