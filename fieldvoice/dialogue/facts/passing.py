"""Steps that are passed over because what they ask for is known."""

from __future__ import annotations

from fieldvoice.dialogue.facts import conflicts, words
from fieldvoice.jobstate.state import JobState
from fieldvoice.procedure.step import Step, Way
from fieldvoice.quantity.facts import called, facts
from fieldvoice.trade.refrigerant.flammable_charge import burning
from fieldvoice.trade.refrigerant.refrigerants import refrigerant

BEFORE = "known before the job began"


def known_fact(state: JobState, step: Step) -> str | None:
    """Why a step is passed over whose fact is known, or whose reading was given as one."""
    name = _known(state, step.know.fact) if step.know is not None else None
    if name is not None:
        value = words.shown(name, state.facts[name])
        return f"known: {called(name)} {value}" if name in state.told else BEFORE
    wanted = [need.quantity for need in step.needs]
    given = [f.reading for f in facts().values() if f.lasting and f.name in state.facts]
    return BEFORE if wanted and set(wanted) <= set(given) and not step.choices else None


def known_way(state: JobState, step: Step) -> tuple[Way, str] | None:
    """The way on from a step with choices that is answered already, and why."""
    way = step.way(state.facts.get(step.name, "")) if step.choices else None
    if way is not None:
        return way, f"known: {way.name}" if step.name in state.told else BEFORE
    return _class_of_plate(state, step)


def _class_of_plate(state: JobState, step: Step) -> tuple[Way, str] | None:
    """How the refrigerant burns, once it was read from the plate at the step that asks for it.

    A refrigerant that was told before may come from the job's papers: then the plate is asked.
    """
    told = state.told.get("refrigerant")
    if told is None or told.step is None or step != conflicts.class_step(state):
        return None
    asked = state.procedure.by_name.get(told.step)
    if asked is None or asked.know is None or asked.know.fact != "refrigerant":
        return None
    way = step.way(burning(told.value) or "")
    if way is None:
        return None
    return way, f"{told.value} on the plate is class {refrigerant(told.value).safety_class}"


def wanted(state: JobState) -> str | None:
    """The fact that the open step waits for."""
    step = state.open_step
    know = step.know if step is not None else None
    return know.fact if know is not None and _known(state, know.fact) is None else None


def _known(state: JobState, name: str) -> str | None:
    """The fact, or the one that does in its place, where it is known."""
    return next((n for n in (name, facts()[name].instead) if n in state.facts), None)


def waits_words(name: str) -> str:
    """What the step still needs, as one sentence with an example."""
    return f"I need the {called(name)}. Say, for example: {facts()[name].said}."
