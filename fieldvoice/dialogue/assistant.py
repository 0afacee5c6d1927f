"""(job state, what came in, now) -> events and replies: the decisions. Pure: no I/O, no clock."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any

import fieldvoice
from fieldvoice.dialogue import (
    attention,
    corrections,
    holds,
    pending_question,
    prompts,
    queries,
    record_reading,
    status,
    steps,
)
from fieldvoice.dialogue.confidence import Decision, judge
from fieldvoice.dialogue.turn import Heard, Outcome, Reply, Tick, Turn
from fieldvoice.jobstate import events
from fieldvoice.jobstate.state import JobState
from fieldvoice.language import intents as i
from fieldvoice.procedure.limit_check import contradictions

__all__ = ["Heard", "Outcome", "Reply", "Tick", "begin", "handle", "resume"]

DEFERENCE = (
    "Local code, the equipment's own instructions and your licence come before anything I say."
)
# What still makes sense after the job was closed.
_AFTERWARDS = (i.Repeat, i.WhereAreWe, i.WhatNow, i.Help, i.Note, i.StartNote, i.ChangeVoice,
               i.StandBy, i.HowLongLeft, *queries.QUESTIONS)
_DOUBT_THEMSELVES = (i.Reading, i.Readings, i.Correction, i.ChangeReading)


def begin(state: JobState, now: datetime, job: str, site: Mapping[str, str]) -> Outcome:
    """Start a job on an empty state: cautions, then the first step.

    `site` holds what is known: "criterion", "refrigerant", "altitude", answers of steps with
    choices, ... Raises ProcedureError for an unknown criterion and for limits that no reading can
    meet, ReadingError for a bad amount.
    """
    turn = Turn(state, now)
    procedure = state.procedure
    for fault in contradictions(procedure.with_site(site)):
        raise fault
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
        turn.answer("Still standing by. Say back to work.")
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


def _line(turn: Turn, heard: Heard) -> None:
    """Who gets the line: an open note, the way back, the ignored, a question, or a command."""
    state = turn.state
    trust = judge(heard.intent, heard.confidence, heard.words)
    if state.open_note is not None:
        if isinstance(heard.intent, i.EndNote):
            attention.end_note(turn)
        return
    if state.standing_by:
        attention.stay_away(turn, heard)
        pending_question.after_a_break(turn, state.last_at)
        return
    reason_asked = state.question is not None and state.question.why == "reason"
    if trust is Decision.IGNORE and not (reason_asked and heard.words):
        turn.ignore()
        return
    intent: i.Intent | None = heard.intent
    if state.question is not None:
        intent = pending_question.answer(turn, heard, trust)
        if intent is not heard.intent:
            trust = Decision.ACCEPT if intent is not None and trust is Decision.ACCEPT else trust
    if intent is not None:
        _command(turn, heard, intent, trust)
    if state.question is not None and isinstance(intent, _DOUBT_THEMSELVES):
        pending_question.still_open(turn, state.question)


def _command(turn: Turn, heard: Heard, intent: i.Intent, trust: Decision) -> None:
    if isinstance(intent, i.NotUnderstood):
        _not_understood(turn, intent)
    elif turn.state.finished and not isinstance(intent, _AFTERWARDS):
        turn.refuse("This job is finished.")
    elif not turn.state.job:
        turn.refuse("No job has begun.")
    elif isinstance(intent, _DOUBT_THEMSELVES):
        _values(turn, intent, trust)
    elif trust is Decision.ASK:
        pending_question.ask_whether(turn, heard)
    else:
        _HANDLERS.get(type(intent), _nothing_open)(turn, intent)


def _not_understood(turn: Turn, intent: i.NotUnderstood) -> None:
    if intent.kind == "two-ways":
        turn.ask(intent.reason)
    else:
        turn.refuse(intent.reason)


def _values(turn: Turn, intent: i.Intent, trust: Decision) -> None:
    if isinstance(intent, i.Reading):
        record_reading.take(turn, intent, trust)
    elif isinstance(intent, i.Readings):
        for one in intent.readings:
            record_reading.take(turn, one, trust)
    elif isinstance(intent, i.Correction | i.ChangeReading):
        corrections.change(turn, intent, trust)


def _nothing_open(turn: Turn, intent: i.Intent) -> None:
    turn.refuse(f"I cannot use that here. {prompts.waits_for(turn.state)}")


def _yes_or_no(turn: Turn, intent: i.Intent) -> None:
    """Yes and no answer the choices of a step that offers them."""
    step = turn.state.open_step
    option = intent.name()
    if step is not None and step.way(option) is not None:
        steps.choose(turn, option)
    elif isinstance(intent, i.Yes) and turn.state.unacknowledged():
        turn.refuse(prompts.waits_for(turn.state))
    else:
        turn.refuse(f"Nothing was asked. {prompts.waits_for(turn.state)}")


def _understood(turn: Turn, _intent: i.Intent) -> None:
    step = turn.state.open_step
    waiting = turn.state.unacknowledged()
    if step is None or not waiting:
        turn.answer("All right.")
        return
    turn.emit(events.CautionAcknowledged(step.name, waiting[0], turn.line))
    if len(waiting) == 1 and step.needs and turn.state.unmet() is None:
        steps.advance(turn)  # the readings came before the word
    else:
        prompts.present(turn, after=waiting[0])


def _skip(turn: Turn, intent: i.Skip) -> None:
    if intent.reason:
        pending_question.skip_for(turn, intent.reason)
    else:
        pending_question.ask_reason(turn, intent)


def _not_applicable(turn: Turn, intent: i.Intent) -> None:
    step = turn.state.open_step
    if step is not None and step.gate:
        pending_question.ask_reason(turn, intent)
    else:
        steps.skip(turn, "not applicable")


def _finish(turn: Turn, intent: i.Intent) -> None:
    step = turn.state.open_step
    assert step is not None
    assert turn.line is not None
    if step.ending and not turn.state.unmet() and not turn.state.unacknowledged():
        steps.leave(turn)
        return
    turn.emit(events.Asked(turn.line, "finish", intent.to_dict()))
    turn.ask(f"Step {step.name.replace('-', ' ')} is still open. Finish the job now? "
             "Say yes or no.")


_HANDLERS: dict[type[i.Intent], Callable[[Turn, Any], None]] = {
    i.Yes: _yes_or_no,
    i.No: _yes_or_no,
    i.Understood: _understood,
    i.Next: lambda turn, _: steps.next_step(turn),
    i.Back: lambda turn, _: steps.back(turn),
    i.Skip: _skip,
    i.NotApplicable: _not_applicable,
    i.Choose: lambda turn, intent: steps.choose(turn, intent.option),
    i.ScratchThat: lambda turn, _: corrections.scratch(turn),
    i.PutBack: lambda turn, _: corrections.put_back(turn),
    i.Repeat: lambda turn, _: status.repeat(turn),
    i.WhatNow: lambda turn, _: status.what_now(turn),
    i.WhereAreWe: lambda turn, _: status.where(turn),
    i.Why: lambda turn, _: status.why(turn),
    i.Help: lambda turn, _: status.help_now(turn),
    i.StartHold: holds.start_hold,
    i.StartTimer: holds.start_timer,
    i.StopTimer: holds.stop,
    i.AddTime: holds.add_time,
    i.HowLongLeft: holds.how_long_left,
    i.StartNote: lambda turn, _: attention.start_note(turn),
    i.EndNote: lambda turn, _: attention.end_note(turn),
    i.Note: attention.note,
    i.StandBy: lambda turn, _: attention.stand_by(turn),
    i.BackToWork: lambda turn, _: turn.answer("I am listening."),
    i.ChangeVoice: attention.change_voice,
    i.FinishJob: _finish,
    **dict.fromkeys(queries.QUESTIONS, queries.answer),
}
