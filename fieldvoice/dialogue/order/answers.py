"""Answers to what is asked before work goes on out of turn."""

from __future__ import annotations

from dataclasses import replace

from fieldvoice.dialogue import holds, leaving, prompts
from fieldvoice.dialogue.asking import asides
from fieldvoice.dialogue.confidence import Decision
from fieldvoice.dialogue.order import carry_over, jump, jump_words, own_length
from fieldvoice.dialogue.turn import Heard, Turn
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.state import JobState
from fieldvoice.language import intents as i

TAKE_A_REASON = (i.GoTo, i.SkipStage, i.CarryTest, i.StartHold)
_NOT = {i.StartHold: "All right, not started.", i.CarryTest: "All right, not carried over."}


def stay(turn: Turn, waiting: i.Intent) -> None:
    """It was not wanted after all."""
    turn.answer(_NOT.get(type(waiting), "All right, we stay."))
    turn.say("prompt", prompts.waits_for(turn.state))


def go(turn: Turn, waiting: i.Intent) -> None:
    """The jump was agreed to."""
    assert isinstance(waiting, i.GoTo)
    jump.agreed(turn, waiting)


def of_test(turn: Turn, heard: Heard, waiting: i.Intent) -> None:
    """What was still missing of a test that is carried over."""
    assert isinstance(waiting, i.CarryTest)
    if turn.decision is not Decision.ACCEPT or not carry_over.fits(waiting, heard.intent):
        asides.not_taken(turn, heard, waiting)
        return
    asides.close(turn, "yes")
    carry_over.answered(turn, waiting, heard.intent)


def reason(turn: Turn, heard: Heard, waiting: i.Intent) -> i.Intent | None:
    """The reason that was asked for; another length of the hold takes its place."""
    if (isinstance(waiting, i.StartHold) and isinstance(heard.intent, i.StartHold)
            and turn.decision is Decision.ACCEPT):
        asides.close(turn, "replaced")
        return heard.intent
    said = _name(heard) if isinstance(waiting, i.CarryTest) else leaving.reason_in(heard)
    if said is None:
        asides.not_taken(turn, heard, waiting)
        return None
    asides.close(turn, "yes")
    if turn.decision is Decision.IGNORE and not isinstance(waiting, i.SkipStage):
        _ask_whether(turn, waiting, said)
    else:
        _given(turn, waiting, said)
    return None


def _name(heard: Heard) -> str | None:
    """A command is no name."""
    return leaving.reason_in(heard) if isinstance(heard.intent, i.NotUnderstood) else None


def _given(turn: Turn, waiting: i.Intent, said: str) -> None:
    if isinstance(waiting, i.GoTo | i.SkipStage):
        jump.reason_given(turn, waiting, said)
    elif isinstance(waiting, i.CarryTest):
        carry_over.named(turn, waiting, said)
    elif isinstance(waiting, i.StartHold):
        holds.start_hold(turn, replace(waiting, reason=said))


def _ask_whether(turn: Turn, waiting: i.Intent, said: str) -> None:
    """Talk near by may sound like a reason: it counts after a yes, and what waits with it."""
    assert turn.line is not None
    why, settled = "confidence", waiting
    if isinstance(waiting, i.GoTo):
        why, settled = jump.ABOUT, replace(waiting, reasons=(*waiting.reasons, said))
    elif isinstance(waiting, i.CarryTest):
        settled = replace(waiting, by=carry_over.name_kept(said))
    elif isinstance(waiting, i.StartHold):
        settled = replace(waiting, reason=said)
    turn.emit(e.Asked(turn.line, why, settled.to_dict()))
    words = "what you said" if said == leaving.KEPT else said
    about = "name" if isinstance(waiting, i.CarryTest) else "reason"
    turn.ask(f"Is that the {about}: {words}? Say yes or no.")


def reason_meant(state: JobState, reason: str | None) -> str | None:
    """The reason; of "same reason" the one that was given for the step skipped last, if any."""
    if reason is None or reason.lower() != jump.SAME:
        return reason
    said = [left.reason for left in state.trail if left.skipped and left.line is not None]
    return said[-1] if said else None


def again(state: JobState, waiting: i.Intent) -> str:
    """The open question once more."""
    if isinstance(waiting, i.CarryTest):
        return carry_over.again(waiting)
    if isinstance(waiting, i.StartHold):
        return own_length.question(state, waiting.duration)
    if isinstance(waiting, i.SkipStage):
        return "What is the reason to skip this stage? Or say no."
    assert isinstance(waiting, i.GoTo)
    asked = state.question
    if asked is not None and asked.why == "reason":
        return jump_words.why(state, waiting)
    assert waiting.step is not None
    title = state.procedure.stages[state.procedure.step(waiting.step).stage].title
    return f"Go to {title}? Say yes or no."


def nothing_asked(turn: Turn) -> None:
    """An answer without its question."""
    turn.refuse(f"Nothing was asked. {prompts.waits_for(turn.state)}")
