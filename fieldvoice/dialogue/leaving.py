"""Leaving a step undone, or the job unfinished: for a reason, or after a yes."""

from __future__ import annotations

from fieldvoice.dialogue import prompts, steps
from fieldvoice.dialogue.belief.evidence import OUTSIDE
from fieldvoice.dialogue.depth import listing
from fieldvoice.dialogue.safeguards import watch
from fieldvoice.dialogue.turn import Heard, Turn
from fieldvoice.jobstate import events as e
from fieldvoice.language import intents as i
from fieldvoice.quantity.facts import facts

KEPT = "kept as sound"  # a reason in words that the recognizer does not know
LONGEST_REASON = 120  # characters; longer talk is a note
_REASON = "What is the reason? Or say no."


def skip(turn: Turn, intent: i.Skip) -> None:
    """Leave the open step undone; asks for the reason when none is said."""
    if listing.asks_first(turn):
        return
    if intent.reason:
        skip_for(turn, intent.reason)
    else:
        ask_reason(turn, intent)


def not_applicable(turn: Turn, intent: i.NotApplicable) -> None:
    """Leave the open step undone because it does not apply; a gate wants a reason all the same."""
    if listing.asks_first(turn):
        return
    step = turn.state.open_step
    if step is not None and step.gate:
        ask_reason(turn, intent)
    else:
        steps.skip(turn, "not applicable")


def finish_job(turn: Turn, intent: i.FinishJob) -> None:
    """Close the job; asks while a step is open."""
    step = turn.state.open_step
    assert step is not None
    assert turn.line is not None
    if watch.asks(turn, i.FinishJob()):
        return
    if step.ending and not turn.state.unmet() and not turn.state.unacknowledged():
        steps.leave(turn)
        return
    turn.emit(e.Asked(turn.line, "finish", intent.to_dict()))
    turn.ask(f"Step {prompts.step_words(turn.state)} is still open. Finish the job now? "
             "Say yes or no.")


def ask_reason(turn: Turn, intent: i.Intent) -> None:
    """Ask why a step is to be left undone."""
    assert turn.line is not None
    turn.emit(e.Asked(turn.line, "reason", intent.to_dict()))
    turn.ask(_REASON)


def reason_in(heard: Heard) -> str | None:
    """The reason in a line; None when it holds none, or more than a reason should."""
    intent = heard.intent
    if isinstance(intent, i.Because):
        return intent.reason
    if isinstance(intent, i.Skip | i.Choose):
        words = intent.reason if isinstance(intent, i.Skip) else intent.option.replace("-", " ")
        return words[:LONGEST_REASON] if words else None
    unknown = isinstance(intent, i.NotUnderstood) and intent.kind == "unknown"
    if not (unknown or sounds_like_a_fact(intent)):
        return None
    words = " ".join(heard.words.split()).removeprefix("because ")
    if OUTSIDE in words or (not words and heard.clip is not None):
        return KEPT if heard.clip is not None else None
    says_something = any(letter.isalpha() for letter in words) and words.isprintable()
    return words if says_something and len(words) <= LONGEST_REASON else None


def sounds_like_a_fact(intent: i.Intent) -> bool:
    """Free words that also tell a name: "the customer is in a hurry" is a reason when one is asked.
    """
    known = facts().get(intent.fact) if isinstance(intent, i.TellFact) and intent.value else None
    return known is not None and known.kind == "text"


def skip_for(turn: Turn, reason: str, *, sure: bool = True) -> None:
    """Skip the open step for a reason; a gate, and a reason not heard for certain, want a yes."""
    step = turn.state.open_step
    assert step is not None
    assert turn.line is not None
    if sure and not step.gate:
        steps.skip(turn, reason)
        return
    turn.emit(e.Asked(turn.line, "gate", i.Skip(reason).to_dict()))
    why = "This step protects you or the system. " if step.gate else ""
    said = "Skip it, with what you said as the reason" if reason == KEPT else f"Skip it: {reason}"
    turn.ask(f"{why}{said}? Say yes or no.")
