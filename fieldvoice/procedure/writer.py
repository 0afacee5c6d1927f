"""Procedure back to text that reads the same: so are includes written out for a job's folder."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from decimal import Decimal

from fieldvoice.procedure.model import Procedure, Stage
from fieldvoice.procedure.settings import Caution, Criterion, Limit
from fieldvoice.procedure.step import Hold, Need, Step, Way, When

_WIDTH = 96


def write(procedure: Procedure) -> str:
    """The text of a procedure; reading it gives the same procedure but for the places."""
    lines = [f"procedure {procedure.name} {_quoted(procedure.title)}", ""]
    if procedure.intro:
        lines += [*_text("intro", procedure.intro, 0), ""]
    lines += [_limit(limit) for limit in procedure.limits.values()]
    for criterion in procedure.criteria.values():
        lines += _criterion(criterion)
    for caution in procedure.cautions.values():
        lines += _caution(caution)
    if procedure.opening:
        lines += ["", "begin with " + ", ".join(procedure.opening)]
    stage = ""
    for step in procedure.steps:
        if step.stage != stage:
            stage = step.stage
            lines += ["", *_stage(procedure.stages[stage])]
        lines += ["", f"step {step.name}", *(f"  {line}" for line in _parts(step))]
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    return f'"{text}"'


def _text(keyword: str, text: str, indent: int = 2) -> list[str]:
    """A keyword and its text, on as many lines as it takes."""
    first, *more = textwrap.wrap(text, _WIDTH - 12 - indent, break_on_hyphens=False) or [""]
    return [f"{keyword} {_quoted(first)}", *(f"  {_quoted(line)}" for line in more)]


def _amount(value: Decimal) -> str:
    return format(value, "f")


def _limit(limit: Limit) -> str:
    source = _quoted(limit.source)
    worked = f" then {limit.figure} of {limit.of}" if limit.figure else ""
    return f"limit {limit.name} = {_amount(limit.value)} {limit.unit}{worked} source {source}"


def _criterion(criterion: Criterion) -> list[str]:
    settings = [f"  set {s.name} = {_amount(s.value)} {s.unit}" for s in criterion.settings]
    return [f"criterion {criterion.name} {_quoted(criterion.document)}", *settings]


def _caution(caution: Caution) -> list[str]:
    end = ["  acknowledge"] if caution.acknowledge else []
    return [*_text(f"caution {caution.name}", caution.text), *end]


def _stage(stage: Stage) -> list[str]:
    lines = [f"stage {stage.name} {_quoted(stage.title)}"]
    if stage.called:
        lines.append("  called " + " or ".join(stage.called))
    if stage.counts_as:
        lines.append(f"  counts as {stage.counts_as}")
    if stage.part_of:
        lines.append(f"  part of {stage.part_of}")
    if stage.again:
        lines.append(f"  again from {stage.again}")
    return lines + [f"  needs {need.quantity}{_between(need)}" for need in stage.needs]


def _parts(step: Step) -> Iterator[str]:
    for when in step.when:
        told = _between(when) if when.limits else f" is {' or '.join(when.options)}"
        yield f"only when {when.answer}{told}"
    for keyword, text in (("say", step.say), ("show", step.show), ("why", step.why)):
        if text:
            yield from _text(keyword, text)
    yield from (f"caution {name}" for name in step.cautions)
    if step.gate:
        yield "gate"
    if step.know:
        yield f"know {step.know.fact}"
    if step.always:
        yield "always"
    if step.once:
        yield "once"
    yield from (_need(need) for need in step.needs)
    if step.hold:
        yield _hold(step.hold)
    if step.timer:
        yield f"timer {step.timer.duration} {_quoted(step.timer.title)}"
    if step.check:
        yield " ".join(filter(None, ("check", step.check.kind, step.check.limit)))
    yield from (f"on {way.name} go to {way.to}" for way in step.branches)
    yield from (_way("choose", way) for way in step.choices)
    yield from (_way("anytime", way) for way in step.exits)
    if step.repeat:
        yield f"repeat from {step.repeat.start} until {step.repeat.times} times"
    if step.bar:
        yield "no way back" + (f" until {' or '.join(step.bar.until)}" if step.bar.until else "")
    if step.go:
        yield f"go to {step.go.to}"
    if step.ending:
        words = f" {_quoted(step.ending.text)}" if step.ending.text else ""
        yield f"end {step.ending.name}{words}"


def _way(keyword: str, way: Way) -> str:
    words = f" {_quoted(way.text)}" if way.text else ""
    return f"{keyword} {way.name}{words}" + (f" then {way.to}" if way.to else "")


def _need(need: Need) -> str:
    line = f"read {need.quantity}{_between(need)}"
    if need.times > 1:
        line += f" {need.times} times"
    return line + (f" else go to {need.otherwise}" if need.otherwise else "")


def _between(bounds: Need | When) -> str:
    if bounds.low and bounds.high:
        return f" between {bounds.low} and {bounds.high}"
    if bounds.low:
        return f" at least {bounds.low}"
    return f" at most {bounds.high}" if bounds.high else ""


def _hold(hold: Hold) -> str:
    line = f"hold {hold.duration} {_quoted(hold.title)}"
    if hold.quantity:
        marks = " ".join(_amount(m) for m in hold.marks)
        line += f" ask {hold.quantity} at {marks} min"
        line += f" then every {_amount(hold.every)} min" if hold.every else ""
    judge = " ".join(filter(None, ("judge", hold.judge, hold.limit, hold.forgiven)))
    return f"{line} {judge}" if hold.judge else line
