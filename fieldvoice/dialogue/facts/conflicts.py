"""Facts that contradict each other, or what was said and read: a refusal or a question."""

from __future__ import annotations

from collections.abc import Mapping

from fieldvoice.dialogue.facts.settle import FactError
from fieldvoice.dialogue.safeguards import safety_class
from fieldvoice.jobstate.records import BranchChoice
from fieldvoice.jobstate.state import JobState
from fieldvoice.procedure.limit_check import contradictions
from fieldvoice.procedure.model import Procedure
from fieldvoice.procedure.settings import ProcedureError
from fieldvoice.procedure.step import Step
from fieldvoice.quantity.convert import from_si
from fieldvoice.quantity.errors import ReadingError
from fieldvoice.quantity.facts import called, facts
from fieldvoice.quantity.site import site_from
from fieldvoice.quantity.units import say
from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.refrigerant.flammable_charge import MILDEST_FIRST, burning

# Weather moves the air by 3 % about the standard atmosphere (quantity/site.py); a barometer further
# off was most likely corrected to sea level.
WEATHER = 0.05


def refuse(procedure: Procedure, told: Mapping[str, str]) -> None:
    """Raise FactError for facts that cannot hold together."""
    try:
        for fault in contradictions(procedure.with_site(told)):
            raise fault
        safety_class.check_site(told)
        _air(told)
    except (ProcedureError, ReadingError, TradeError) as error:
        raise FactError.because(error) from None


def refuse_answered(state: JobState, name: str, value: str) -> None:
    """Raise FactError for the answer of a step that the job has passed, or that is a gate."""
    step = state.procedure.by_name.get(name)
    if name in facts() or step is None or not step.choices or state.step == name:
        return
    answered = next((b for b in reversed(state.branches) if b.step == name), None)
    if answered is not None and answered.option != value:
        raise FactError(f"{called(name).capitalize()} was answered in the job: "
                        f"{answered.option.replace('-', ' ')}. Go back to that step instead.")
    if step.gate:
        raise FactError(f"{called(name).capitalize()} is answered when it is asked.")


def _air(told: Mapping[str, str]) -> None:
    if not {"altitude", "atmosphere"} <= told.keys():
        return
    read = site_from({"atmosphere": told["atmosphere"]}).atmosphere_pa
    standard = site_from({"altitude": told["altitude"]}).atmosphere_pa
    if abs(read - standard) > WEATHER * standard:
        usual = say(round(from_si(standard, "inHg"), 1), "inHg")
        raise FactError(f"At {told['altitude']} the air stands at about {usual}, and the barometer "
                        f"says {told['atmosphere']}. Give the pressure at the site, not at sea "
                        "level, or leave one of them out.")


def class_step(state: JobState) -> Step | None:
    """The step that asks how the refrigerant burns."""
    return next((s for s in state.procedure.steps
                 if len(s.choices) > 1 and all(w.name in MILDEST_FIRST for w in s.choices)), None)


def class_answer(state: JobState) -> BranchChoice | None:
    """What was answered there; None before that."""
    step = class_step(state)
    name = None if step is None else step.name
    return next((b for b in reversed(state.branches) if b.step == name), None)


def class_said(state: JobState) -> str | None:
    """How the refrigerant burns by the technician's own word, at the step or as a fact."""
    answered, step = class_answer(state), class_step(state)
    if answered is not None:
        return answered.option if answered.line is not None else None
    return state.facts.get(step.name) if step is not None else None


def class_against(state: JobState, refrigerant: str) -> str | None:
    """What was said of the class where it speaks against a refrigerant; None: nothing does."""
    said = class_said(state)
    return said if said is not None and burning(refrigerant) not in (None, said) else None


def other_amount(state: JobState, quantity: str, si: float, leaving_out: int) -> str | None:
    """Why an amount that stands on the plate is read back: another one was told before."""
    fact = next((f for f in facts().values() if f.lasting and f.reading == quantity), None)
    if fact is None:
        return None
    before = next((t for t in state.newest_first(state.history.readings)
                   if t.quantity == quantity and t.seq != leaving_out), None)
    if before is None or abs(before.si - si) <= 0.01 * before.si:
        return None
    return f"The {fact.called} was {say(before.now.value, before.now.unit)} before."


