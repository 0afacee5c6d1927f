"""Open questions: what counts after a yes, a no, a new value or a reason."""

from __future__ import annotations

from fieldvoice.job import events as e
from fieldvoice.job import readings, repair, steps, taking
from fieldvoice.job.readings import Refused
from fieldvoice.job.record import Question
from fieldvoice.job.trust import HARMLESS, OUTSIDE, Trust
from fieldvoice.job.turn import Heard, Turn
from fieldvoice.spoken import intents as i

_PASS = (*HARMLESS, i.StandBy, i.Note)  # answered as ever; the question stays open
_VALUES = (i.Reading, i.Correction, i.ChangeReading)


def answer(turn: Turn, heard: Heard, trust: Trust) -> i.Intent | None:
    """Use a line as the answer to the open question.

    Returns an intent that is still to be done: the line's own when it was no answer, the one that
    waited when the answer was yes; None when all is done.
    """
    question = turn.sheet.question
    assert question is not None
    if isinstance(heard.intent, _PASS):
        return heard.intent
    if isinstance(heard.intent, i.ScratchThat) and trust is Trust.ACCEPT:
        _close(turn, "dropped")
        turn.answer("Dropped.")
        return None
    if question.why == "reason":
        return _reason(turn, heard, question)
    if isinstance(heard.intent, i.Yes | i.No):
        return _yes_or_no(turn, heard.intent, trust, question)
    waiting = i.Intent.from_dict(dict(question.intent))
    if isinstance(waiting, _VALUES):
        return _value_again(turn, heard, waiting)
    if isinstance(heard.intent, i.NotUnderstood) or question.why in ("gate", "finish"):
        return _ask_again(turn)
    _close(turn, "replaced")
    return heard.intent


def confirmed(turn: Turn, intent: i.Intent) -> bool:
    """Do what a yes confirmed, where that differs from doing it unasked."""
    if isinstance(intent, i.Reading):
        taking.take(turn, intent, Trust.ACCEPT, confirmed=True)
    elif isinstance(intent, i.Correction | i.ChangeReading):
        repair.change(turn, intent, Trust.ACCEPT, confirmed=True)
    elif isinstance(intent, i.Skip):
        steps.skip(turn, intent.reason or "no reason given")
    elif isinstance(intent, i.FinishJob):
        steps.stop_hold(turn)
        steps.finish(turn, "stopped-early")
    else:
        return False
    return True


def _close(turn: Turn, how: str) -> None:
    assert turn.sheet.question is not None
    turn.emit(e.Answered(turn.sheet.question.seq, how))


def _yes_or_no(
    turn: Turn, intent: i.Yes | i.No, trust: Trust, question: Question
) -> i.Intent | None:
    if trust is Trust.ASK:
        return _ask_again(turn)
    if isinstance(intent, i.Yes):
        _close(turn, "yes")
        waiting = i.Intent.from_dict(dict(question.intent))
        return None if confirmed(turn, waiting) else waiting
    _close(turn, "no")
    valued = question.why in ("confidence", "surprising")
    turn.answer("Dropped. Say it again." if valued else "All right, not done.")
    return None


def _value_again(turn: Turn, heard: Heard, waiting: i.Intent) -> i.Intent | None:
    """The value was said again: the same one confirms, another one replaces."""
    said = heard.intent
    if isinstance(said, i.Correction):
        said = i.Reading(said.value, said.unit)
    if not isinstance(said, i.Reading):
        return said if isinstance(said, i.Readings) else _ask_again(turn)
    assert isinstance(waiting, i.Reading | i.Correction | i.ChangeReading)
    quantity = getattr(waiting, "quantity", None)
    if said.quantity not in (None, quantity):
        return said  # another quantity: logged on its own, the question stays open
    same = i.Reading(said.value, said.unit, quantity)
    found = taking.resolve(turn, same)
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


def _reason(turn: Turn, heard: Heard, question: Question) -> i.Intent | None:
    """Any words are a reason; a reading is a reading, and no means that nothing is skipped."""
    if isinstance(heard.intent, i.Reading | i.Readings):
        return heard.intent
    if isinstance(heard.intent, i.No):
        _close(turn, "no")
        turn.answer("All right, not skipped.")
        return None
    said = heard.intent.reason if isinstance(heard.intent, i.Skip) else None
    words = said or heard.words.replace(OUTSIDE, "").strip()
    if not words and heard.clip is None:
        return _ask_again(turn)
    _close(turn, "yes")
    skip_for(turn, words or "kept as sound")
    return None


def skip_for(turn: Turn, reason: str) -> None:
    """Skip the open step for a reason; a gate also wants a yes."""
    step = turn.sheet.open_step
    assert step is not None
    assert turn.line is not None
    if not step.gate:
        steps.skip(turn, reason)
        return
    turn.emit(e.Asked(turn.line, "gate", i.Skip(reason).to_dict()))
    turn.ask(f"This step protects you or the system. Skip it: {reason}? Say yes or no.")


def ask_reason(turn: Turn, intent: i.Intent) -> None:
    """Ask why a step is to be left undone."""
    assert turn.line is not None
    turn.emit(e.Asked(turn.line, "reason", intent.to_dict()))
    turn.ask("What is the reason? Or say no.")


def ask_whether(turn: Turn, heard: Heard) -> None:
    """Ask whether a badly heard command was meant."""
    assert turn.line is not None
    turn.emit(e.Asked(turn.line, "confidence", heard.intent.to_dict()))
    turn.ask(f"{heard.words.capitalize()}? Say yes or no.")


def _ask_again(turn: Turn) -> i.Intent | None:
    turn.ask(again(turn))
    return None


def again(turn: Turn) -> str:
    """The open question once more."""
    question = turn.sheet.question
    assert question is not None
    if question.why == "reason":
        return "What is the reason? Or say no."
    waiting = i.Intent.from_dict(dict(question.intent))
    if isinstance(waiting, _VALUES) and waiting.unit:
        return f"{readings.say(waiting.value, waiting.unit)}? Say yes, no, or the value again."
    what = {"gate": "Skip it?", "finish": "Finish the job now?"}
    asked = what.get(question.why, f"{waiting.name().replace('-', ' ').capitalize()}?")
    return f"{asked} Say yes or no."
