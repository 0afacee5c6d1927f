"""Going to a stage out of turn: asked for where it leaves work undone, with a reason for each
step that protects."""

from __future__ import annotations

from dataclasses import replace

from fieldvoice.dialogue import leaving, steps
from fieldvoice.dialogue.depth import listing
from fieldvoice.dialogue.order import jump_words as words
from fieldvoice.dialogue.order.jump_plan import Plan, obstacle, planned
from fieldvoice.dialogue.order.meant_stage import Unknown, from_step, meant
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.state import JobState
from fieldvoice.language import intents as i
from fieldvoice.procedure.step import Step

ABOUT = "jump"  # why a question is open
SAME = "same reason"


def go_to(turn: Turn, intent: i.GoTo) -> None:
    """Go to a stage; asks first where that leaves anything undone, or ends a hold."""
    found = meant(turn.state, intent)
    if isinstance(found, Unknown):
        text, spoken = words.unknown(turn.state, found)
        turn.refuse(text, spoken)
        return
    _propose(turn, intent, planned(turn.state, found))


def skip_stage(turn: Turn, intent: i.SkipStage) -> None:
    """Leave the rest of the open stage undone, for a reason."""
    if not intent.reason:
        leaving.ask_reason(turn, intent)
        return
    goal = _behind(turn.state)
    if goal is None:
        turn.refuse("Nothing comes behind this stage. Say finish the job, or skip for one step.")
        return
    plan = planned(turn.state, turn.state.procedure.stages[goal.stage], goal.name)
    _propose(turn, i.GoTo(why=intent.reason), plan)


def _behind(state: JobState) -> Step | None:
    """The first step behind the open stage, where the work plainly goes on."""
    here = state.open_step
    assert here is not None
    others = [s.name for s in state.procedure.steps if s.stage != here.stage]
    way = from_step(state, here.name, others)
    return None if way is None or way.turns else state.procedure.step(way.goal)


def _propose(turn: Turn, intent: i.GoTo, plan: Plan) -> None:
    against = obstacle(turn.state, plan)
    if against is not None:
        turn.refuse(against)
        return
    if listing.asks_first(turn):
        return
    exact = replace(intent, step=plan.step)
    held = turn.state.hold is not None and turn.state.hold.running
    here = turn.state.open_step
    if plan.left or held or (here is not None and here.stage == plan.stage.name):
        assert turn.line is not None
        turn.emit(e.Asked(turn.line, ABOUT, exact.to_dict()))
        turn.ask(*words.question(turn, plan))
        return
    _make(turn, exact, plan)


def plan_of(state: JobState, intent: i.GoTo) -> Plan:
    """The plan of a jump that was asked about, as the job stands now."""
    assert intent.step is not None
    stage = state.procedure.stages[state.procedure.step(intent.step).stage]
    return planned(state, stage, intent.step)


def agreed(turn: Turn, intent: i.GoTo) -> None:
    """Yes to the jump, or one more reason for it: ask for the next one, or make it."""
    plan = plan_of(turn.state, intent)
    against = obstacle(turn.state, plan)  # a reading may have come since
    if against is not None:
        turn.refuse(against)
        return
    waiting = plan.protective(turn.state)[len(intent.reasons):]
    if not waiting:
        _make(turn, intent, plan)
        return
    assert turn.line is not None
    turn.emit(e.Asked(turn.line, "reason", intent.to_dict()))
    turn.ask(words.why(turn.state, intent))


def reason_given(turn: Turn, intent: i.GoTo | i.SkipStage, reason: str) -> None:
    """A reason was said: for the stage, or for the next protective step, or for all the rest."""
    if isinstance(intent, i.SkipStage):
        skip_stage(turn, i.SkipStage(reason))
        return
    given = intent.reasons or ((intent.why,) if intent.why else ())
    if reason.lower() in (SAME, "same", "the same"):
        if not given:
            agreed(turn, intent)
            return
        rest = len(plan_of(turn.state, intent).protective(turn.state)) - len(intent.reasons)
        agreed(turn, replace(intent, reasons=(*intent.reasons, *[given[-1]] * rest)))
        return
    agreed(turn, replace(intent, reasons=(*intent.reasons, reason)))


def _make(turn: Turn, intent: i.GoTo, plan: Plan) -> None:
    """Skip what is left undone, each with its reason, and open the step."""
    state = turn.state
    steps.stop_hold(turn)
    reasons = dict(zip((s.name for s in plan.protective(state)), intent.reasons, strict=False))
    other = intent.why or f"jumped over, to {plan.stage.title}"
    for step in plan.left:
        turn.emit(e.StepSkipped(step.name, reasons.get(step.name, other), turn.line))
    turn.emit(e.Jumped(plan.stage.name, plan.step, state.step or "", plan.back, turn.line,
                       _lifted(state, plan)))
    turn.answer(words.made(state, plan, intent.reasons))
    steps.open_step(turn, plan.step)


def _lifted(state: JobState, plan: Plan) -> list[str]:
    """Steps of a carried-over test that is gone to after all: it is held here now."""
    test = plan.stage.part_of
    parts = {s.name for s in state.procedure.stages.values() if test and s.part_of == test}
    return [s.name for s in state.procedure.steps
            if s.stage in parts and s.name in state.carried]
