"""Answers to what is asked before work goes on out of turn."""

from __future__ import annotations

from dataclasses import replace

from fieldvoice.dialogue import holds, leaving, prompts
from fieldvoice.dialogue.confidence import Decision
from fieldvoice.dialogue.order import carry_over, jump, jump_words, own_length
from fieldvoice.dialogue.turn import Heard, Turn
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.records import Question
from fieldvoice.jobstate.state import JobState
from fieldvoice.language import intents as i

OUT_OF_TURN = (i.GoTo, i.SkipStage, i.CarryTest)  # what waits until an open question is answered
_TAKE_A_REASON = (*OUT_OF_TURN, i.StartHold)
_NOT = {i.StartHold: "All right, not started.", i.CarryTest: "All right, not carried over."}


def is_about(question: Question, waiting: i.Intent) -> bool:
    """Whether a question is one of these."""
    return question.why in (jump.ABOUT, carry_over.ABOUT) or (
        question.why == "reason" and isinstance(waiting, _TAKE_A_REASON))


def answer(turn: Turn, heard: Heard, question: Question) -> i.Intent | None:
    """Use a line as the answer; returns the line's intent where it is still to be done."""
    waiting = i.Intent.from_dict(dict(question.intent))
    said, sure = heard.intent, turn.decision is Decision.ACCEPT
    if isinstance(said, i.Reading | i.Readings):
        return said
    if isinstance(said, i.No) and sure:
        _close(turn, "no")
        turn.answer(_NOT.get(type(waiting), "All right, we stay."))
        turn.say("prompt", prompts.waits_for(turn.state))
        return None
    if isinstance(waiting, i.StartHold) and isinstance(said, i.StartHold) and sure:
        _close(turn, "replaced")
        return said
    if question.why == "reason":
        _reason(turn, heard, waiting)
    elif isinstance(waiting, i.GoTo) and isinstance(said, i.Yes) and sure:
        _close(turn, "yes")
        jump.agreed(turn, waiting)
    elif not (isinstance(waiting, i.CarryTest) and sure and _carried(turn, waiting, said)):
        turn.ask(again(turn.state, waiting))
    return None


def _carried(turn: Turn, waiting: i.CarryTest, said: i.Intent) -> bool:
    if not carry_over.fits(waiting, said):
        return False
    _close(turn, "yes")
    carry_over.answered(turn, waiting, said)
    return True


def _reason(turn: Turn, heard: Heard, waiting: i.Intent) -> None:
    reason = leaving.reason_in(heard)
    if reason is None:
        turn.ask(again(turn.state, waiting))
        return
    _close(turn, "yes")
    if isinstance(waiting, i.GoTo | i.SkipStage):
        jump.reason_given(turn, waiting, reason)
    elif isinstance(waiting, i.CarryTest):
        carry_over.named(turn, waiting, reason)
    elif isinstance(waiting, i.StartHold):
        holds.start_hold(turn, replace(waiting, reason=reason))


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


def _close(turn: Turn, how: str) -> None:
    assert turn.state.question is not None
    turn.emit(e.Answered(turn.state.question.seq, how))


def nothing_asked(turn: Turn) -> None:
    """An answer without its question."""
    turn.refuse(f"Nothing was asked. {prompts.waits_for(turn.state)}")
