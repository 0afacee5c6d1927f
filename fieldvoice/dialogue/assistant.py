"""(job state, what came in, now) -> events and replies: the decisions. Pure: no I/O, no clock."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

import fieldvoice
from fieldvoice.dialogue import attention, holds, pending_question, prompts, status, steps
from fieldvoice.dialogue import confidence as confidences
from fieldvoice.dialogue.confidence import Decision
from fieldvoice.dialogue.registry import registered
from fieldvoice.dialogue.safeguards import safety_class
from fieldvoice.dialogue.turn import Heard, Outcome, Reply, Tick, Turn
from fieldvoice.jobstate import events
from fieldvoice.jobstate.state import JobState
from fieldvoice.language import intents as i
from fieldvoice.procedure.limit_check import contradictions

__all__ = ["Heard", "Outcome", "Reply", "Tick", "begin", "decide", "handle", "resume"]

DEFERENCE = (
    "Local code, the equipment's own instructions and your licence come before anything I say."
)


def begin(state: JobState, now: datetime, job: str, site: Mapping[str, str]) -> Outcome:
    """Start a job on an empty state: cautions, then the first step.

    `site` holds what is known: "criterion", "refrigerant", "altitude", answers of steps with
    choices, ... Raises ProcedureError for an unknown criterion and for limits that no reading can
    meet, ReadingError for a bad amount, TradeError for facts that contradict the refrigerant.
    """
    turn = Turn(state, now)
    procedure = state.procedure
    for fault in contradictions(procedure.with_site(site)):
        raise fault
    safety_class.check_site(site)
    turn.emit(events.JobStarted(job, procedure.name, procedure.sha256, fieldvoice.__version__,
                                dict(site)))
    assert turn.state.site  # a bad altitude or pressure is refused now, not at the first reading
    turn.say("caution", DEFERENCE)
    for name in procedure.opening:
        turn.say("caution", procedure.cautions[name].text)
    if procedure.intro:
        turn.say("prompt", procedure.intro)
    steps.open_step(turn, procedure.steps[0].name)
    return turn.finish()


def resume(state: JobState, now: datetime) -> Outcome:
    """Go on after an interruption: where the job stands, what ran out, and what is asked for."""
    turn = Turn(state, now)
    turn.emit(events.JobResumed(fieldvoice.__version__))
    turn.answer(f"Job {state.job} goes on. {status.standing(turn)}")
    holds.pass_time(turn)
    ran_out = any(isinstance(v, events.TimerFinished) for v in turn.happened)
    if turn.state.step == state.step and turn.state.hold is None:
        prompts.present(turn, every_caution=True)
    elif turn.state.step == state.step and not ran_out:
        turn.say("prompt", prompts.waits_for(turn.state))
    holds.ask_final(turn)
    if state.standing_by:
        turn.answer("Still standing by. Say carry on.")
    pending_question.after_a_break(turn, state.last_at)
    return turn.finish()


def handle(state: JobState, came: Heard | Tick, now: datetime) -> Outcome:
    """Answer a line, or the passing of time."""
    turn = Turn(state, now)
    if isinstance(came, Heard):
        turn.hear(came)
        holds.run_out(turn)
        _line(turn, came)
    else:
        holds.pass_time(turn)
    holds.ask_final(turn)
    return turn.finish()


def decide(intent: i.Intent, confidence: float | None, words: str = "") -> Decision:
    """What a line's confidence allows; typed lines (no confidence) are always accepted."""
    return confidences.decide(
        intent, confidence, words, only_reads=registered(intent).only_reads
    )


def _line(turn: Turn, heard: Heard) -> None:
    """Who gets the line: an open note, the way back, the ignored, a question, or its handler."""
    state = turn.state
    turn.decision = decide(heard.intent, heard.confidence, heard.words)
    if state.open_note is not None:
        if isinstance(heard.intent, i.EndNote):
            attention.end_note(turn)
        return
    if state.standing_by:
        attention.stay_away(turn, heard)
        pending_question.after_a_break(turn, state.last_at)
        return
    reason_asked = state.question is not None and state.question.why == "reason"
    if turn.decision is Decision.IGNORE and not (reason_asked and heard.words):
        turn.ignore()
        return
    _understood_line(turn, heard)


def _understood_line(turn: Turn, heard: Heard) -> None:
    question = turn.state.question
    intent: i.Intent | None = heard.intent
    if question is not None and not registered(heard.intent).keeps_question:
        intent = pending_question.answer(turn, heard)
    if intent is None:
        return
    _hand_over(turn, heard, intent)
    if question is not None and registered(intent).asks_itself:
        pending_question.still_open(turn, question)


def _hand_over(turn: Turn, heard: Heard, intent: i.Intent) -> None:
    """To the intent's handler, where the job is at a place for it and it was heard for sure."""
    entry = registered(intent)
    if isinstance(intent, i.NotUnderstood):
        entry.handler(turn, intent)
    elif turn.state.finished and not entry.after_end:
        turn.refuse("This job is finished.")
    elif not turn.state.job:
        turn.refuse("No job has begun.")
    elif turn.decision is Decision.ASK and not entry.asks_itself:
        pending_question.ask_whether(turn, heard)
    else:
        entry.handler(turn, intent)
