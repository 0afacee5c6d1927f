"""What a jump leads to, what it leaves undone, and what stands against it."""

from __future__ import annotations

from dataclasses import dataclass

from fieldvoice.dialogue import prompts
from fieldvoice.dialogue.order.meant_stage import from_step, visited, way_to
from fieldvoice.jobstate.state import JobState
from fieldvoice.procedure.model import Stage
from fieldvoice.procedure.step import Step
from fieldvoice.quantity.quantities import speakable


@dataclass(frozen=True)
class Plan:
    """A jump as it would be made now."""

    stage: Stage
    step: str  # the one to go to
    back: bool  # to work that comes before
    left: tuple[Step, ...]  # steps left undone, the open one first

    def protective(self, state: JobState) -> list[Step]:
        """Those of the steps left undone that protect people or the system."""
        return [step for step in self.left if state.procedure.protects(step)]


def planned(state: JobState, stage: Stage, step: str | None = None) -> Plan:
    """The jump to a stage, or to one of its steps, with what the way there would have passed."""
    way = way_to(state, stage, step)
    ahead = way is not None and (way.turns == 0 or _is_new(state, stage))
    if way is None or not ahead:
        return Plan(stage, step or stage.again or _first(state, stage), True, ())
    goal = step or (way.goal if way.turns == 0 else _first(state, stage))
    done = _done(state)
    left = tuple(state.procedure.step(n) for n in way.steps if n not in done or n == state.step)
    return Plan(stage, goal, False, left)


def _first(state: JobState, stage: Stage) -> str:
    return next(s.name for s in state.procedure.steps if s.stage == stage.name)


def _is_new(state: JobState, stage: Stage) -> bool:
    """A stage that stands further on and was never worked on: a search for a leak, a drying."""
    names = list(state.procedure.by_name)
    later = state.step is not None and names.index(_first(state, stage)) > names.index(state.step)
    return later and stage.name not in visited(state)


def _done(state: JobState) -> set[str]:
    """Steps done, since work last began anew at an earlier one."""
    anew = max((jump.seq for jump in state.jumps if jump.back), default=0)
    return {left.step for left in state.trail if not left.skipped and left.seq > anew}


# --- what stands against it -----------------------------------------------------------------------


def obstacle(state: JobState, plan: Plan) -> str | None:
    """Why the jump would not be safe by what was logged, and what to do; None: nothing is known."""
    for need in plan.stage.needs:
        last = next((t for t in state.newest_first(state.history.readings)
                     if t.quantity == need.quantity and not t.now.unfit), None)
        if last is not None and state.within(need, last.si) is False:
            return (f"The {speakable(need.quantity)} was last {prompts.shown(last)}. "
                    f"{plan.stage.title} wants {prompts.limit_words(state, need)}. "
                    "Bring it there first and tell me.")
    for step in state.procedure.steps:
        if step.bar is not None and _barred(state, step, plan.step):
            return _no_way_back(state, step)
    return None


def _barred(state: JobState, step: Step, goal: str) -> bool:
    """Whether the way from the goal would lead over a step that no jump may lead back over."""
    assert step.bar is not None
    done = [left.seq for left in state.trail if left.step == step.name and not left.skipped]
    opened = [left.seq for left in state.trail
              if left.step in step.bar.until and not left.skipped]
    if not done or goal == step.name or max(opened, default=0) > done[-1]:
        return False
    way = from_step(state, goal, [step.name])
    return way is not None and way.turns == 0 and not set(way.steps) & set(step.bar.until)


def _no_way_back(state: JobState, step: Step) -> str:
    assert step.bar is not None
    did = f"{step.name.replace('-', ' ').capitalize()} is done"
    if not step.bar.until:
        return f"{did}: there is no going back before that in this job."
    opens = state.procedure.step(step.bar.until[0])
    stage = state.procedure.stages[opens.stage]
    name = stage.called[0].replace("-", " ") if stage.called else stage.title
    return f"{did}. First {opens.name.replace('-', ' ')}: say go to {name}."
