"""A procedure as a sheet to read: stages, numbered steps, what each needs and where it leads."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from fieldvoice.procedure.flow import PLACEHOLDER
from fieldvoice.procedure.model import Procedure
from fieldvoice.procedure.settings import Limit
from fieldvoice.procedure.step import Hold, Need, Step, When
from fieldvoice.quantity.facts import called
from fieldvoice.quantity.quantities import speakable
from fieldvoice.quantity.units import say

WIDTH = 96


def sheet(procedure: Procedure) -> str:
    """The whole procedure as plain text."""
    lines = [procedure.title, "=" * len(procedure.title), *_wrapped(procedure.intro, ""), ""]
    lines += ["Limits", *(f"  {line}" for line in _limits(procedure)), ""]
    lines += ["Cautions", *(line for c in procedure.cautions.values()
                            for line in _wrapped(c.text, "  ", f"{_words(c.name)}: "))]
    stage = ""
    for number, step in enumerate(procedure.steps, 1):
        if step.stage != stage:
            stage = step.stage
            title = procedure.stages[stage].title
            lines += ["", title, "-" * len(title), *_stage(procedure, stage)]
        lines += [*_wrapped(filled(procedure, step.say), "", f"{number:3}. ")]
        lines += [line for detail in _details(procedure, step)
                  for line in textwrap.wrap(detail, WIDTH, initial_indent="       ",
                                            subsequent_indent="         ")]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def filled(procedure: Procedure, text: str) -> str:
    """The text with its limits written in; values of the job stay in braces."""
    def value(key: str) -> str:
        limit = procedure.limits.get(key.removeprefix("limit."))
        return f"{{{key}}}" if limit is None else say(limit.value, limit.unit)

    return PLACEHOLDER.sub(lambda found: value(found[1]), text)


def _wrapped(text: str, indent: str, first: str = "") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=indent + first,
                         subsequent_indent=indent + " " * len(first))


def _words(name: str) -> str:
    return name.replace("-", " ")


def _said(limit: Limit) -> str:
    return say(limit.value, limit.unit)


def _limits(procedure: Procedure) -> Iterator[str]:
    width = max((len(name) for name in procedure.limits), default=0)
    for limit in procedure.limits.values():
        worked = f"then the {_words(limit.figure)} of the {_words(limit.of)}; "
        source = (worked if limit.figure else "") + limit.source
        start = f"{_words(limit.name):{width}}  {_said(limit):14}  "
        yield from textwrap.wrap(start + source, WIDTH - 2, subsequent_indent=" " * len(start))
    for criterion in procedure.criteria.values():
        set_to = ", ".join(f"{_words(s.name)} {_said(s)}" for s in criterion.settings)
        yield f"criterion {criterion.name} ({criterion.document}): {set_to}"


def _stage(procedure: Procedure, name: str) -> list[str]:
    """What counts for a stage where it is gone to out of turn."""
    stage = procedure.stages[name]
    lines = [f"  said: {', '.join(map(_words, stage.called))}"] if stage.called else []
    if stage.counts_as:
        lines.append(f"  its time counts as {_words(stage.counts_as)}")
    if stage.part_of:
        lines.append(f"  passed over where a {_words(stage.part_of)} is carried over")
    if stage.again:
        lines.append(f"  a jump back begins at {_step(procedure, stage.again)}")
    return lines + [f"  no jump here while {speakable(need.quantity)} is not"
                    f"{_between(procedure, need)}" for need in stage.needs]


def _details(procedure: Procedure, step: Step) -> Iterator[str]:
    if step.show:
        yield f"screen: {filled(procedure, step.show)}"
    if step.why:
        yield f"why: {filled(procedure, step.why)}"
    for when in step.when:
        yield f"only when {condition(procedure, when)}"
    if step.gate:
        yield "gate: left undone only with a spoken reason"
    if step.always:
        yield "always prompted by itself"
    if step.once:
        yield "once a job"
    if step.cautions:
        yield "caution: " + ", ".join(map(_words, step.cautions))
    if step.know:
        yield f"know: {called(step.know.fact)}; passed over where it is known"
    for need in step.needs:
        yield "read " + _need(procedure, need)
    if step.hold:
        yield _hold(procedure, step.hold)
    if step.timer:
        length = _said(procedure.limits[step.timer.duration])
        yield f"then a timer of {length}: {step.timer.title}"
    if step.check:
        target = step.check.limit and _said(procedure.limits[step.check.limit])
        yield f"check {step.check.kind}" + (f" against {target}" if target else "")
    for way in step.ways:
        yield f"{_words(way.name)} -> {_step(procedure, procedure.destination(step, way.to))}"
    if step.repeat:
        start = _step(procedure, step.repeat.start)
        yield f"again from {start}, {step.repeat.times} times in all"
    if step.bar:
        until = " or ".join(_step(procedure, name) for name in step.bar.until)
        yield "no jump leads back before this once it is done" + (f", until {until}" if until
                                                                  else "")
    if step.ending:
        yield f"end: {_words(step.ending.name)}"
    elif step.go and not (step.branches or step.choices):
        yield f"-> {_step(procedure, step.go.to)}"
    elif step.go and step.when:
        yield f"does not apply -> {_step(procedure, step.go.to)}"


def _hold(procedure: Procedure, hold: Hold) -> str:
    line = f"hold {_said(procedure.limits[hold.duration])}: {hold.title}"
    if hold.quantity:
        line += f"; asks for {speakable(hold.quantity)} at minute "
        line += ", ".join(format(mark, "f") for mark in hold.marks)
        line += f", then every {hold.every:f}" if hold.every else ""
    return line + (f"; judged as {hold.judge}" if hold.judge else "")


def _step(procedure: Procedure, name: str | None) -> str:
    """A step by its number and name: "27 standing vacuum"."""
    numbers = {s.name: n for n, s in enumerate(procedure.steps, 1)}
    return f"{numbers[name]} {_words(name)}" if name else "the end"


def condition(procedure: Procedure, when: When) -> str:
    """When a step applies: "refrigerant class is flammable"."""
    if when.limits:
        return speakable(when.answer) + _between(procedure, when)
    return f"{_words(when.answer)} is {' or '.join(map(_words, when.options))}"


def _between(procedure: Procedure, bounds: Need | When) -> str:
    low, high = (_said(procedure.limits[n]) if n else "" for n in (bounds.low, bounds.high))
    if low:
        return f" {low} to {high}" if high else f" from {low} up"
    return f" up to {high}" if high else ""


def _need(procedure: Procedure, need: Need) -> str:
    limits = _between(procedure, need)
    times = f", {need.times} times" if need.times > 1 else ""
    other = f"; else -> {_step(procedure, need.otherwise)}" if need.otherwise else ""
    return f"{speakable(need.quantity)}{limits}{times}{other}"
