"""Which stage is meant: several can have one name, and a typed title can be cut short."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fieldvoice.dialogue.depth import conditions
from fieldvoice.jobstate.state import JobState
from fieldvoice.language import intents as i
from fieldvoice.procedure.model import Stage
from fieldvoice.procedure.plain_way import PlainWay, plain_way, plainly_to
from fieldvoice.procedure.step import Step


@dataclass(frozen=True)
class Unknown:
    """No stage, or too many, fit what was said; `stages` are those that could be meant."""

    stages: tuple[Stage, ...]
    said: str


def meant(state: JobState, intent: i.GoTo) -> Stage | Unknown:
    """The one that makes sense: ahead on the plain way, else the newest visited, else one that was
    jumped over, else the nearest. Where "back" was said those ahead come last.
    """
    found = _named(state, intent)
    said = (intent.title or intent.stage or "").replace("-", " ")
    if not found or (len({stage.title for stage in found}) > 1 and intent.title is not None):
        return Unknown(tuple(found) or tuple(state.procedure.stages.values()), said)
    ahead = sorted((len(way.steps), n) for n, stage in enumerate(found)
                   if (way := way_to(state, stage)) is not None and way.turns == 0)
    seen = [name for name in visited(state) if name in {stage.name for stage in found}]
    over = {state.procedure.step(left.step).stage for left in state.left_open}
    known = [s for s in found if s.name in seen[-1:]] or [s for s in found if s.name in over]
    if ahead and not (intent.direction == "back" and known):
        return found[ahead[0][1]]
    if known:
        return known[0]
    return min(found, key=lambda stage: _turns(way_to(state, stage)))


def visited(state: JobState) -> list[str]:
    """Names of the stages that were worked on, the newest last."""
    came = [state.procedure.step(v.step).stage for v in state.history.visits
            if v.seq not in state.history.withdrawn]
    return list(dict.fromkeys(came[::-1]))[::-1]


def way_to(state: JobState, stage: Stage, step: str | None = None) -> PlainWay | None:
    """The plain way from the open step to a stage, or to one of its steps; None: none, or in it."""
    here = state.open_step
    if here is None or (here.stage == stage.name and step is None):
        return None
    goals = [step] if step else [s.name for s in state.procedure.steps if s.stage == stage.name]
    return from_step(state, here.name, goals)


def from_step(state: JobState, start: str, goals: Sequence[str]) -> PlainWay | None:
    """The plain way from a step, as far as the job knows what applies and what was chosen."""
    asked = {when.answer for step in state.procedure.steps for when in step.when}
    return plain_way(state.procedure, start, goals, past=lambda step: past(state, step),
                     answer=lambda name: state.answer(name) if name in asked else None)


def past(state: JobState, step: Step) -> str | None:
    """Where the job goes on when a step does not apply, or was carried over; else None."""
    if step.name == state.step:
        return None
    if any(conditions.against(state, when) is not None for when in step.when):
        return state.procedure.destination(step, None)
    return plainly_to(state.procedure, step) if step.name in state.carried else None


def _named(state: JobState, intent: i.GoTo) -> list[Stage]:
    """Stages of that name; of a typed title, those with just these words before all others."""
    stages = list(state.procedure.stages.values())
    if intent.title is None:
        return [s for s in stages if intent.stage in (*s.called, s.name)]
    words = _words(intent.title)
    whole = [s for s in stages
             if words in (_words(s.title), _words(s.name), *map(_words, s.called))]
    return whole or [s for s in stages if set(words) <= set(_words(s.title))]


def _words(text: str) -> tuple[str, ...]:
    kept = "".join(c if c.isalnum() else " " for c in text.lower())
    return tuple(word for word in kept.split() if word != "the")


def _turns(way: PlainWay | None) -> tuple[int, int]:
    return (way.turns, len(way.steps)) if way else (10**6, 0)
