"""What is said of a jump: what it leaves undone, which step wants its reason, which stages are."""

from __future__ import annotations

from collections.abc import Sequence

from fieldvoice.dialogue.order.jump_plan import Plan, planned
from fieldvoice.dialogue.order.meant_stage import Unknown, way_to
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate.state import JobState
from fieldvoice.jobstate.timers import say_duration
from fieldvoice.language import intents as i
from fieldvoice.procedure.model import Stage
from fieldvoice.procedure.step import Step
from fieldvoice.quantity.counted import counted

MOST_NAMED = 3  # aloud; the screen names all


def name(step: Step) -> str:
    """A step by its name in words."""
    return step.name.replace("-", " ")


def question(turn: Turn, plan: Plan) -> tuple[str, str]:
    """The question whether to jump, for the screen and for the ear."""
    state, hold = turn.state, turn.state.hold
    parts = []
    if hold is not None and hold.running:
        parts.append(f"The hold has {say_duration(hold.remaining(turn.now))} to go, and stops.")
    if plan.back:
        parts.append("What was read stays logged; the steps are done anew.")
    left = [_left(state, plan, most) for most in (10**6, MOST_NAMED)]
    asked = f"Go to {plan.stage.title}? Say yes or no."
    text, spoken = (" ".join(filter(None, (*parts, one, asked))) for one in left)
    return text, spoken


def _left(state: JobState, plan: Plan, most: int) -> str:
    """What it leaves undone, in one sentence: how many steps, of which stages, which protect."""
    if not plan.left:
        return ""
    titles = list(dict.fromkeys(state.procedure.stages[s.stage].title for s in plan.left))
    protective = [name(step) for step in plan.protective(state)]
    told = f"That leaves {counted(len(plan.left), 'step')} undone in {some(titles, most)}"
    if not protective:
        return f"{told}, none of them protective."
    verb = "protects" if len(protective) == 1 else "protect"
    return f"{told}; {len(protective)} {verb} you or the system: {some(protective, most)}."


def some(names: Sequence[str], most: int) -> str:
    """Names as they are said: the first few, and how many more there are."""
    if len(names) > most + 1:
        return f"{', '.join(names[:most])} and {len(names) - most} more"
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def why(state: JobState, intent: i.GoTo) -> str:
    """The question why the next protective step is left undone."""
    assert intent.step is not None
    stage = state.procedure.stages[state.procedure.step(intent.step).stage]
    waiting = planned(state, stage, intent.step).protective(state)[len(intent.reasons):]
    if not waiting:
        return "What is the reason? Or say no."
    same = " Or same reason for all." if intent.reasons or intent.why else ""
    more = f", and {len(waiting) - 1} more" if len(waiting) > 1 else ""
    return f"Why is {name(waiting[0])} left undone{more}? Say the reason, or no.{same}"


def made(state: JobState, plan: Plan, reasons: Sequence[str]) -> str:
    """What the jump did."""
    if not plan.left:
        return f"{'Back to' if plan.back else 'To'} {plan.stage.title}."
    told = f"{counted(len(plan.left), 'step')} left undone"
    said = list(dict.fromkeys(reasons))
    return f"{told}{': ' + '; '.join(said) if said else ''}."


def unknown(state: JobState, found: Unknown) -> tuple[str, str]:
    """The refusal of a stage that is none: the stages there are, aloud those that are near."""
    every = list(dict.fromkeys(_said(stage) for stage in found.stages))
    near = list(dict.fromkeys(_said(stage) for stage in _nearest(state, found.stages)))
    several = 1 < len(found.stages) < len(state.procedure.stages)
    opening = f"{found.said.capitalize()} can be several." if several \
        else f"No stage here is called {found.said}."
    return (f"{opening} There are: {', '.join(every)}.",
            f"{opening} Near are: {some(near[:MOST_NAMED], MOST_NAMED)}.")


def _said(stage: Stage) -> str:
    return stage.called[0].replace("-", " ") if stage.called else stage.title


def _nearest(state: JobState, stages: Sequence[Stage]) -> list[Stage]:
    """The stages in the order in which the plain way comes to them; those off it last."""
    ways = {stage.name: way_to(state, stage) for stage in stages}

    def far(stage: Stage) -> tuple[int, int]:
        way = ways[stage.name]
        return (10**6, 0) if way is None else (way.turns, len(way.steps))

    return sorted(stages, key=far)
