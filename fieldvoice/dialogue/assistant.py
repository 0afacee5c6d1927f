"""(job state, what came in, now) -> events and replies: the decisions. Pure: no I/O, no clock."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

import fieldvoice
from fieldvoice.dialogue import attention, pending_question, prompts, status, steps
from fieldvoice.dialogue import confidence as confidences
from fieldvoice.dialogue.asking import reminders
from fieldvoice.dialogue.confidence import Decision
from fieldvoice.dialogue.depth import presenting
from fieldvoice.dialogue.facts import at_start
from fieldvoice.dialogue.order import reopening
from fieldvoice.dialogue.registry import registered
from fieldvoice.dialogue.safeguards import safety_class
from fieldvoice.dialogue.times import clock_doubt, marks, passing
from fieldvoice.dialogue.turn import Heard, Outcome, Reply, Tick, Turn
from fieldvoice.jobstate import events
from fieldvoice.jobstate.earlier_job import LookUp, no_other_job
from fieldvoice.jobstate.state import JobState
from fieldvoice.jobstate.waiting import STANDING_BY
from fieldvoice.language import intents as i
from fieldvoice.procedure.limit_check import contradictions

__all__ = ["Heard", "Outcome", "Reply", "Tick", "begin", "decide", "handle", "reopen", "resume"]

DEFERENCE = (
    "Local code, the equipment's own instructions and your licence come before anything I say."
)
PRACTICE = "This is practice, in simulated time."
DEFERENCE_SPOKEN = "Code, equipment and licence come before what I say."


def begin(
    state: JobState, now: datetime, job: str, site: Mapping[str, str], *,
    carried: Sequence[events.StepCarried] = (), heard_before: bool = False,
    depth: str | None = None, mode: str = events.WORK,
) -> Outcome:
    """Start a job on an empty state: cautions, then the first step.

    `carried`: what counts as done already; `heard_before`: the
    opening words were said for another unit of the job.

    `site` holds what is known: "criterion", "refrigerant", "altitude", answers of steps with
    choices, ...; `depth` is one of `depths.DEPTHS`. Raises ProcedureError for an unknown
    criterion and for limits that no reading can meet, ReadingError for a bad amount, TradeError
    for facts that contradict the refrigerant.
    """
    turn = Turn(state, now)
    procedure = state.procedure
    for fault in contradictions(procedure.with_site(site)):
        raise fault
    safety_class.check_site(site)
    turn.emit(events.JobStarted(job, procedure.name, procedure.sha256, fieldvoice.__version__,
                                dict(site), mode))
    assert turn.state.site  # a bad altitude or pressure is refused now, not at the first reading
    if depth is not None:
        turn.emit(events.DepthChanged(depth))
    at_start.begin(turn, site)
    for step in carried:
        turn.emit(step)
    if not heard_before:
        if mode == events.PRACTICE:
            turn.answer(PRACTICE)
        _open(turn)
    steps.open_step(turn, procedure.steps[0].name)
    return turn.finish()


def _open(turn: Turn) -> None:
    procedure = turn.state.procedure
    turn.say("caution", DEFERENCE, DEFERENCE_SPOKEN)
    for name in procedure.opening:
        turn.say("caution", procedure.cautions[name].text)
    if procedure.intro:  # whoever speaks first has to wait until it has been said
        turn.say("prompt", procedure.intro, aloud=False)


def resume(
    state: JobState, now: datetime, told: Mapping[str, str] | None = None,
    depth: str | None = None, restarted: events.Restarted | None = None,
) -> Outcome:
    """Go on after an interruption: where the job stands, what ran out, and what is asked for.

    `restarted`: the computer was started anew meanwhile.
    `told`: facts that are given now; raises FactError for those that the job refuses.
    """
    turn = Turn(state, now)
    new = at_start.checked_late(state, told or {})
    turn.emit(events.JobResumed(fieldvoice.__version__))
    if restarted is not None:
        turn.emit(restarted)
    if depth not in (None, state.depth):
        turn.emit(events.DepthChanged(str(depth), sorted(state.prompted)))
    status.goes_on(turn, state.last_at)
    at_start.go_on(turn, new)
    clock_doubt.arises(turn)
    passing.catch_up(turn)
    ran_out = any(isinstance(v, events.TimerFinished) for v in turn.happened)
    if turn.state.step == state.step and turn.state.hold is None:
        presenting.present(turn, every_caution=True)
    elif turn.state.step == state.step and not ran_out and turn.state.clock_doubt is None:
        turn.say("prompt", prompts.waits_for(turn.state))
    marks.ask_final(turn)
    if state.standing_by:
        turn.answer(reminders.STILL[STANDING_BY])
    pending_question.settle(turn, state)
    pending_question.after_a_break(turn)
    reminders.remind(turn, aloud=False)
    return turn.finish()


def reopen(state: JobState, now: datetime, reason: str) -> Outcome:
    """Open a job that was closed, to add to it; what follows is logged after its end."""
    turn = Turn(state, now)
    reopening.reopen(turn, reason)
    return turn.finish()


def handle(
    state: JobState, came: Heard | Tick, now: datetime, look_up: LookUp = no_other_job
) -> Outcome:
    """Answer a line, or the passing of time; `look_up` gives what another job's log says."""
    turn = Turn(state, now, look_up)
    if isinstance(came, Heard):
        turn.hear(came)
        passing.run_out(turn)
        _line(turn, came)
    else:
        passing.pass_time(turn)
    marks.ask_final(turn)
    pending_question.settle(turn, state)
    if isinstance(came, Tick):
        reminders.remind(turn)
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
    if attention.is_cut_short(heard) and not state.standing_by:
        attention.ask_again(turn, heard)
        return
    if state.open_note is not None:
        if isinstance(heard.intent, i.EndNote):
            attention.end_note(turn)
        else:
            turn.noted()
        return
    if state.standing_by:
        attention.stay_away(turn, heard)
        pending_question.after_a_break(turn)
        return
    words_asked = state.expects_free_text
    if turn.decision is Decision.IGNORE and not (words_asked and heard.words):
        turn.ignore()
        return
    _understood_line(turn, heard)


def _understood_line(turn: Turn, heard: Heard) -> None:
    question = turn.state.question
    intent: i.Intent | None = heard.intent
    noise = turn.decision is Decision.IGNORE  # words of it may still be a reason, and no more
    if question is not None and (
            noise or not registered(heard.intent).keeps_question
            or pending_question.takes_words(question, heard.intent)):
        intent = pending_question.answer(turn, heard)
    if intent is not None:
        _hand_over(turn, heard, intent)


def _hand_over(turn: Turn, heard: Heard, intent: i.Intent) -> None:
    """To the intent's handler, where the job is at a place for it and it was heard for sure."""
    entry = registered(intent)
    turn.asked = entry.only_reads
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
