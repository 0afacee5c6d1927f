"""Open questions: what counts after a yes, a no, a new value or a reason."""

from __future__ import annotations

from datetime import datetime, timedelta

from fieldvoice.dialogue import choosing, corrections, leaving, prompts, record_reading, steps
from fieldvoice.dialogue.confidence import Decision
from fieldvoice.dialogue.safeguards import room_check, safety_class, watch
from fieldvoice.dialogue.turn import Heard, Turn
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.records import Question
from fieldvoice.jobstate.state import JobState
from fieldvoice.language import intents as i
from fieldvoice.quantity.resolve_unit import Refused
from fieldvoice.quantity.units import say

_VALUES = (i.Reading, i.Correction, i.ChangeReading)
_ENDS = (i.StopTimer, i.FinishJob)  # what may cut a timer short that runs beside the steps
STILL_OPEN = timedelta(minutes=20)  # a value that waited longer for its yes is out of date


def answer(turn: Turn, heard: Heard) -> i.Intent | None:
    """Use a line as the answer to the open question.

    Returns an intent that is still to be done: the line's own when it was no answer, the one that
    waited when the answer was yes; None when all is done.
    """
    question = turn.state.question
    assert question is not None
    if isinstance(heard.intent, i.TakeBack | i.NeverMind) and turn.decision is Decision.ACCEPT:
        _close(turn, "dropped")
        turn.answer("Dropped.")
        return None
    if question.why == "reason":
        return _reason(turn, heard)
    if isinstance(heard.intent, i.Yes | i.No):
        return _yes_or_no(turn, heard.intent, question)
    waiting = i.Intent.from_dict(dict(question.intent))
    if isinstance(waiting, _VALUES):
        return _value_again(turn, heard, waiting)
    no_answer = isinstance(heard.intent, i.NotUnderstood | i.Okay | i.NeverMind)
    if no_answer or question.why in ("gate", "finish"):
        return _ask_again(turn)
    _close(turn, "replaced")
    return heard.intent


def confirmed(turn: Turn, intent: i.Intent) -> bool:
    """Do what a yes confirmed, where that differs from doing it unasked."""
    if isinstance(intent, i.Reading):
        record_reading.record(turn, intent, confirmed=True)
    elif isinstance(intent, i.Correction | i.ChangeReading):
        corrections.change(turn, intent, confirmed=True)
    elif isinstance(intent, i.Skip):
        steps.skip(turn, intent.reason or "no reason given")
    elif isinstance(intent, i.StopTimer) and intent.reason:
        watch.cut_short(turn, intent)
    elif isinstance(intent, i.FinishJob):
        _finish(turn, intent)
    else:
        return False
    return True


def _finish(turn: Turn, intent: i.FinishJob) -> None:
    """Close the job: by its own ending where its last step has all it needs."""
    if not intent.reason and watch.asks(turn, intent):
        return
    watch.cut_short(turn, intent)
    step, state = turn.state.open_step, turn.state
    if step is not None and step.ending and not (state.unmet() or state.unacknowledged()):
        steps.leave(turn)
        return
    steps.stop_hold(turn)
    steps.finish(turn, "stopped-early")


def _close(turn: Turn, how: str) -> None:
    assert turn.state.question is not None
    turn.emit(e.Answered(turn.state.question.seq, how))


def _yes_or_no(turn: Turn, intent: i.Yes | i.No, question: Question) -> i.Intent | None:
    if turn.decision is Decision.ASK:
        return _ask_again(turn)
    if isinstance(intent, i.Yes):
        _close(turn, "yes")
        waiting = i.Intent.from_dict(dict(question.intent))
        if question.why == "contradiction" and isinstance(waiting, i.Choose):
            _stricter(turn, waiting.option)
            return None
        if question.why == room_check.ABOUT:
            room_check.answered(turn, room_check.ENOUGH)
            steps.advance(turn)
            return None
        return None if confirmed(turn, waiting) else waiting
    _close(turn, "no")
    if question.why == room_check.ABOUT:
        room_check.answered(turn, room_check.TOO_SMALL)
        return None
    valued = question.why in ("confidence", "surprising")
    turn.answer("Dropped. Say it again." if valued else "All right, not done.")
    if question.why == "contradiction":
        turn.say("prompt", prompts.waits_for(turn.state))
    return None


def _stricter(turn: Turn, option: str) -> None:
    """The plate contradicts the job's refrigerant: the one that asks for more care holds."""
    held, why = safety_class.strictest(turn.state, option)
    if held == option:
        name = turn.state.facts["refrigerant"]
        turn.answer(f"Then check the refrigerant: this job was begun with {name}.")
    else:
        turn.answer("The stricter of the two holds.")
    choosing.choose(turn, held, settled=why)


def _value_again(turn: Turn, heard: Heard, waiting: i.Intent) -> i.Intent | None:
    """The value was said again: the same one confirms, another one replaces."""
    said = heard.intent
    if isinstance(said, i.Correction):
        said = i.Reading(said.value, said.unit)
    quantity = getattr(waiting, "quantity", None)
    if isinstance(said, i.ChangeReading):
        if said.quantity != quantity:
            return said
        said = i.Reading(said.value, said.unit, quantity)
    if not isinstance(said, i.Reading):
        if isinstance(said, i.NotUnderstood) and said.kind != "unknown":
            turn.answer(said.reason)
        return said if isinstance(said, i.Readings) else _ask_again(turn)
    assert isinstance(waiting, i.Reading | i.Correction | i.ChangeReading)
    if said.quantity not in (None, quantity):
        return said  # another quantity: logged on its own, the question stays open
    same = i.Reading(said.value, said.unit, quantity)
    found = record_reading.resolve(turn, same)
    if isinstance(found, Refused):
        turn.refuse(found.reason)
        return None
    repeated = (found.value, found.unit) == (waiting.value, waiting.unit)
    _close(turn, "yes" if repeated else "replaced")
    if isinstance(waiting, i.ChangeReading):
        new: i.Intent = i.ChangeReading(waiting.quantity, said.value, found.unit)
    else:
        new = same
    if repeated:
        confirmed(turn, new)
        return None
    return new


def _reason(turn: Turn, heard: Heard) -> i.Intent | None:
    """Words that mean nothing else are a reason; a clear no means that nothing is skipped.

    A reading and a choice that the step offers are what they are. Any other command is no reason:
    it is asked for again. A reason that was not heard for certain is read back.
    """
    assert turn.state.question is not None
    waiting = i.Intent.from_dict(dict(turn.state.question.intent))
    intent, sure = heard.intent, turn.decision is Decision.ACCEPT
    if isinstance(intent, i.Reading | i.Readings):
        return intent
    if isinstance(intent, i.Choose) and sure and _offered(turn, intent):
        _close(turn, "replaced")
        return intent
    if isinstance(intent, i.No) and sure:
        _close(turn, "no")
        turn.answer("All right, it goes on." if isinstance(waiting, _ENDS)
                    else "All right, not skipped.")
        return None
    reason = leaving.reason_in(heard)
    if reason is None:
        return _ask_again(turn)
    _close(turn, "yes")
    if isinstance(waiting, _ENDS):
        said = ", with what you said as the reason" if reason == leaving.KEPT else f": {reason}"
        watch.asks_whether(turn, waiting, reason, said)
        return None
    known = isinstance(intent, i.Skip) and sure
    leaving.skip_for(turn, reason, sure=known or heard.confidence is None)
    return None


def _offered(turn: Turn, intent: i.Choose) -> bool:
    step = turn.state.open_step
    return step is not None and step.way(intent.option) is not None


def ask_whether(turn: Turn, heard: Heard) -> None:
    """Ask whether a badly heard command was meant."""
    assert turn.line is not None
    turn.emit(e.Asked(turn.line, "confidence", heard.intent.to_dict()))
    turn.ask(f"{heard.words.capitalize()}? Say yes or no.")


def still_open(turn: Turn, question: Question) -> None:
    """A question that another reading did not answer is asked again behind it."""
    if turn.state.question == question:
        turn.say("question", again(turn.state))


def after_a_break(turn: Turn, last_at: datetime | None) -> None:
    """Ask what was open when work stopped once more, or say that it no longer counts."""
    question = turn.state.question
    if question is None or turn.state.standing_by:
        return
    waiting = i.Intent.from_dict(dict(question.intent))
    if isinstance(waiting, _VALUES) and last_at is not None and turn.now - last_at > STILL_OPEN:
        _close(turn, "dropped")
        said = say(waiting.value, waiting.unit) if waiting.unit else f"{waiting.value:f}"
        turn.answer(f"{said} was not confirmed and is dropped.")
        return
    turn.say("question", again(turn.state))


def _ask_again(turn: Turn) -> i.Intent | None:
    turn.ask(again(turn.state))
    return None


def again(state: JobState) -> str:
    """The open question once more."""
    question = state.question
    assert question is not None
    waiting = i.Intent.from_dict(dict(question.intent))
    if isinstance(waiting, _ENDS) and (question.why == "reason" or waiting.reason):
        return watch.again(state, waiting)
    if question.why == "reason":
        return f"What is the reason to skip {prompts.step_words(state)}? Or say no."
    if question.why == room_check.ABOUT:
        return room_check.question(state)
    if question.why == "contradiction" and isinstance(waiting, i.Choose):
        return safety_class.question(state, waiting.option)
    if isinstance(waiting, i.Reading) and waiting.unit and waiting.quantity:
        value = record_reading.named(state, waiting.quantity, waiting.value, waiting.unit)
        return f"{value}? Say yes, no, or the value again."
    if isinstance(waiting, _VALUES) and waiting.unit:
        return f"{say(waiting.value, waiting.unit)}? Say yes, no, or the value again."
    what = {"gate": "Skip it?", "finish": "Finish the job now?"}
    asked = what.get(question.why, f"{waiting.name().replace('-', ' ').capitalize()}?")
    return f"{asked} Say yes or no."
