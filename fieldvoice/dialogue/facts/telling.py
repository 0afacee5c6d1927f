"""A fact that is told: checked, held against what was said before, logged and read back."""

from __future__ import annotations

from decimal import Decimal

from fieldvoice.dialogue import choosing, record_reading, steps
from fieldvoice.dialogue.confidence import Decision
from fieldvoice.dialogue.facts import conflicts, naming, words
from fieldvoice.dialogue.facts.settle import FactError, settled
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.state import JobState
from fieldvoice.language import intents as i
from fieldvoice.quantity.facts import called, facts
from fieldvoice.trade.refrigerant.flammable_charge import MILDEST_FIRST, burning, stricter
from fieldvoice.trade.refrigerant.refrigerants import refrigerant

ABOUT = "fact"  # of the question


def tell(turn: Turn, intent: i.TellFact, *, confirmed: bool = False) -> None:
    """Take a fact in; `confirmed`: a contradiction was asked about, and it holds all the same."""
    fact = facts().get(intent.fact)
    if intent.value is None and fact is not None:
        naming.ask(turn, intent)
        return
    try:
        value = settled(turn.state.procedure, intent.fact, intent.value or "")
        conflicts.refuse_answered(turn.state, intent.fact, value)
        conflicts.refuse(turn.state.procedure, _together(turn.state, intent.fact, value))
    except FactError as error:
        turn.refuse(str(error), error.spoken)
        return
    if fact is not None and fact.reading:
        number, _, unit = value.partition(" ")
        record_reading.record(turn, i.Reading(Decimal(number), unit, fact.reading))
        return
    if _opened_here(turn, intent.fact):
        choosing.choose(turn, value)
        return
    if turn.state.facts.get(intent.fact) == value:
        turn.answer(f"{called(intent.fact).capitalize()} is "
                    f"{words.shown(intent.fact, value)} already.")
        return
    _close_same(turn, intent.fact)
    if confirmed or not _asks(turn, intent.fact, value):
        keep(turn, intent.fact, value)


def _opened_here(turn: Turn, name: str) -> bool:
    """Whether it is the answer to the open step, written with its name."""
    return turn.state.step == name and name not in facts() and bool(
        turn.state.procedure.step(name).choices)


def _close_same(turn: Turn, name: str) -> None:
    """Told anew while it is asked about: the question is answered by that."""
    question = turn.state.question
    about = question is not None and question.why in (ABOUT, naming.ABOUT)
    if question is not None and about and question.intent.get("fact") == name:
        turn.emit(e.Answered(question.seq, "replaced"))


def _together(state: JobState, name: str, value: str) -> dict[str, str]:
    """The facts as they will be; what the technician said of the class is asked about instead."""
    found = {**state.facts, name: value}
    step = conflicts.class_step(state)
    if name == "refrigerant" and step is not None:
        found.pop(step.name, None)
    return found


def _asks(turn: Turn, name: str, value: str) -> bool:
    """Ask back where it was not heard for sure, or contradicts what the technician said."""
    against = _against(turn.state, name, value)
    if turn.decision is not Decision.ASK and against is None:
        return False
    if turn.state.question is not None:
        turn.refuse(f"One at a time. Say the {called(name)} again after.")
        return True
    assert turn.line is not None
    turn.emit(e.Asked(turn.line, ABOUT, i.TellFact(name, value).to_dict()))
    turn.ask(question(turn.state, name, value))
    return True


def _against(state: JobState, name: str, value: str) -> str | None:
    if name != "refrigerant":
        return None
    said = conflicts.class_against(state, value)
    if said is None:
        return None
    found = refrigerant(value)
    burns = (burning(value) or "").replace("-", " ")
    return (f"{found.name} is class {found.safety_class}, {burns}, and you said "
            f"{said.replace('-', ' ')}. Is it {found.name}?")


def question(state: JobState, name: str, value: str) -> str:
    """The open question of a fact, as it is put."""
    asked = _against(state, name, value)
    if asked is None:
        asked = f"{called(name).capitalize()} {words.spoken(name, value)}?"
    return f"{asked} Say yes or no."


def keep(turn: Turn, name: str, value: str) -> None:
    """Log a fact that counts, read it back, and go on where a step waited for it."""
    before = turn.state.facts.get(name)
    turn.emit(e.FactTold(name, value, turn.line))
    shown, aloud = words.read_back(turn.state, name, before)
    turn.say("answer", shown, aloud)
    if name == "refrigerant":
        _class_again(turn, value)
    step = turn.state.open_step
    fact = facts().get(step.know.fact) if step is not None and step.know is not None else None
    if fact is not None and name in (fact.name, fact.instead):
        steps.advance(turn)


def _class_again(turn: Turn, name: str) -> None:
    """A refrigerant that was told late changes how it burns: the stricter word of both holds."""
    said, burns = conflicts.class_said(turn.state), burning(name)
    answered, step = conflicts.class_answer(turn.state), conflicts.class_step(turn.state)
    if burns is None or step is None or (said is None and answered is None):
        return
    held = stricter(said, burns) if said in MILDEST_FIRST else burns
    before = answered.option if answered is not None else said
    way = step.way(held)
    if held == before or way is None:
        return
    if answered is None:  # told as a fact, its step still to come
        turn.emit(e.FactTold(step.name, held, turn.line))
        return
    to = turn.state.procedure.destination(step, way.to) or ""
    turn.emit(e.BranchTaken(step.name, held, to, f"{name} was told", turn.line))
    undone = _now_called_for(turn.state, step.name, held)
    if undone and stricter(held, answered.option) == held:
        turn.alarm(f"It burns: {held.replace('-', ' ')}. Before all else: {' '.join(undone)}")


def _now_called_for(state: JobState, asked: str, option: str) -> list[str]:
    """What the protective steps say that were passed over, and would not be now."""
    done = {left.step for left in state.trail if not left.skipped}
    passed = {left.step for left in state.trail if left.skipped and left.line is None}
    return [s.say for s in state.procedure.steps if s.gate and s.name in passed - done
            and any(w.answer == asked and option in w.options for w in s.when)
            and not any(w.limits for w in s.when)]
