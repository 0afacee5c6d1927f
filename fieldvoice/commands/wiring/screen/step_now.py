"""What the open step asks for now, by its state: its words, what they wait for, what comes next."""

from __future__ import annotations

from datetime import datetime

from fieldvoice.dialogue import prompts
from fieldvoice.dialogue.depth import conditions
from fieldvoice.dialogue.safeguards import plate
from fieldvoice.jobstate import timers
from fieldvoice.jobstate.state import JobState
from fieldvoice.procedure.step import Step
from fieldvoice.quantity.quantities import speakable

OFTEN = (
    "next", "back", "yes", "no", "say again", "what now", "where are we", "how long left",
    "start the hold", "stop the hold", "verdict", "take that back", "take a note", "end note",
    "stand by", "carry on", "skip", "why", "finish the job",
)  # fmt: skip


def asks(state: JobState, now: datetime) -> str:
    """A caution that waits for its word; the hold while it runs; else what the step says."""
    step = state.open_step
    if step is None:
        return ""
    waiting = state.unacknowledged()
    if waiting:
        return state.procedure.cautions[waiting[0]].text
    if state.hold is not None and not state.unmet():
        return prompts.waits_for(state)
    return prompts.fill(step.say, state, now)


def cautions(state: JobState) -> tuple[str, ...]:
    """Those of the open step, but for one that stands in the step's place."""
    step = state.open_step
    if step is None or state.unacknowledged():
        return ()
    return tuple(state.procedure.cautions[name].text for name in step.cautions)


def more(state: JobState, now: datetime) -> str:
    """What the step shows beside its words, as long as these stand."""
    step = state.open_step
    if step is None or state.unacknowledged() or state.hold is not None:
        return ""
    options = [way for way in step.choices + step.exits if way.text]
    listed = [f"  {way.name.replace('-', ' ')}: {way.text}" for way in options]
    return "\n".join(part for part in (prompts.fill(step.show, state, now), *listed) if part)


def waits(state: JobState, now: datetime) -> str:
    """What is still needed; nothing as long as a banner says what counts first."""
    if state.open_step is None or state.question or state.standing_by or state.open_note:
        return ""
    if state.unacknowledged():
        return "Say understood."
    if state.hold is not None and not state.unmet():
        return _next_mark(state, now)
    return prompts.waits_for(state)


def _next_mark(state: JobState, now: datetime) -> str:
    """The reading of a running hold that is due, or when the next one is."""
    step, timer = state.open_step, state.hold
    if not (step and step.hold and step.hold.quantity and timer and timer.running):
        return ""
    wanted = speakable(step.hold.quantity)
    taken = [t.minute for t in state.hold_readings() if t.minute is not None]
    passed, marks = timer.minutes(now), timers.marks(step.hold, timer)
    came = [mark for mark in marks if mark <= passed]
    if came and came[-1] > max(taken, default=-1.0) + 0.34:
        return f"Minute {came[-1]:g}: tell me the {wanted}."
    ahead = [mark for mark in marks if mark > passed]
    if ahead:
        return f"Next {wanted} at minute {ahead[0]:g}."
    return f"A last {wanted} when the time is up." if step.hold.judge else ""


def then(state: JobState, now: datetime) -> str:
    """The following step in short, where it is clear which one that is."""
    step = state.open_step
    if step is None:
        return ""
    if state.unacknowledged():
        return f"Then: {prompts.fill(step.say, state, now)}"
    if step.choices:
        return ""
    if step.ending:
        return "Then: the end of the job."
    way = step.branches[0] if step.branches else None
    name = state.procedure.destination(step, way.to if way else None)
    found = _next_that_applies(state, name, step)
    if found is None:
        return ""
    said = prompts.fill(found.say, state, now)
    return f"Then, if {way.name.replace('-', ' ')}: {said}" if way else f"Then: {said}"


def _next_that_applies(state: JobState, name: str | None, step: Step) -> Step | None:
    seen = {step.name}
    while name is not None and name not in seen:
        seen.add(name)
        found = state.procedure.step(name)
        if not conditions.passed_over(state, found):
            return found
        name = state.procedure.destination(found, None)
    return None


def over_the_plate(state: JobState) -> str:
    """A test pressure that stands above the plate."""
    found = plate.stands_now(state)
    if found is None:
        return ""
    return f"Let it down now. {prompts.shown(found[0])}, plate {prompts.shown(found[1])}."


def can_say(state: JobState) -> tuple[str, ...]:
    """Lines that fit now, those of the open step first."""
    step = state.open_step
    options = [way.name.replace("-", " ") for way in (step.choices + step.exits if step else ())]
    return tuple(dict.fromkeys([*options, *prompts.examples(state), *OFTEN]))
