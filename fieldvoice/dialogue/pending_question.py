"""The open question: its answer, what else is said meanwhile, and when it means nothing more."""

from __future__ import annotations

from datetime import timedelta

from fieldvoice.dialogue import leaving, steps
from fieldvoice.dialogue.asking.asides import close, not_taken
from fieldvoice.dialogue.asking.kinds import (
    KINDS,
    MUST_BE_ANSWERED,
    WANTS_REASON,
    kind_of,
    waiting_in,
)
from fieldvoice.dialogue.asking.values import VALUES
from fieldvoice.dialogue.confidence import Decision
from fieldvoice.dialogue.turn import Heard, Turn
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.records import Question
from fieldvoice.jobstate.state import JobState
from fieldvoice.jobstate.waiting import QUESTION, waits
from fieldvoice.language import intents as i
from fieldvoice.quantity.units import say

STILL_OPEN = timedelta(minutes=20)  # a value that waited longer for its yes is out of date
_READINGS = (*VALUES, i.Readings)
_DROPS = (i.TakeBack, i.NeverMind)  # withdraws the open question, not what was logged before it
_SAYS_WHY = (i.NotUnderstood, i.Skip, i.Choose)  # may be a reason, however badly heard


def answer(turn: Turn, heard: Heard) -> i.Intent | None:
    """Use a line as the answer to the open question.

    Returns an intent that is still to be done: the line's own when it was no answer, the one that
    waited when the answer was yes; None when all is done.
    """
    question = turn.state.question
    assert question is not None
    kind, waiting, said = KINDS[kind_of(question)], waiting_in(question), heard.intent
    if turn.decision is Decision.IGNORE and not isinstance(said, _SAYS_WHY):
        turn.ignore()
        return None
    if (isinstance(said, _DROPS) and turn.decision is Decision.ACCEPT
            and kind_of(question) not in MUST_BE_ANSWERED):
        close(turn, "dropped")
        turn.answer("Dropped.")
        return None
    if isinstance(said, i.No) or (
            isinstance(said, i.Yes) and kind_of(question) not in WANTS_REASON):
        return _yes_or_no(turn, said, question)
    if isinstance(said, _READINGS):
        return kind.reading(turn, heard, waiting)
    return kind.other(turn, heard, waiting)


def takes_words(question: Question, said: i.Intent) -> bool:
    """Whether words that could tell a name are the reason that the question asks for."""
    reason = question.why == "reason" and not isinstance(waiting_in(question), i.CarryTest)
    return reason and leaving.sounds_like_a_fact(said)


def _yes_or_no(turn: Turn, said: i.Yes | i.No, question: Question) -> i.Intent | None:
    kind, waiting = KINDS[kind_of(question)], waiting_in(question)
    if turn.decision is not Decision.ACCEPT:
        turn.refuse(f"Not heard for sure: {said.name()}.")
        return None
    close(turn, said.name())
    if isinstance(said, i.Yes):
        return kind.yes(turn, waiting)
    kind.no(turn, waiting)
    return None


def ask_whether(turn: Turn, heard: Heard) -> None:
    """Ask whether a badly heard command was meant; one thing at a time."""
    assert turn.line is not None
    if turn.state.question is not None:
        not_taken(turn, heard, waiting_in(turn.state.question))
        return
    turn.emit(e.Asked(turn.line, "confidence", heard.intent.to_dict()))
    turn.ask(f"{heard.words.capitalize()}? Say yes or no.")


def again(state: JobState) -> str:
    """The open question once more."""
    assert state.question is not None
    return KINDS[kind_of(state.question)].again(state, waiting_in(state.question))


# --- after each turn ----------------------------------------------------------------------------


def settle(turn: Turn, before: JobState) -> None:
    """What became of the questions that were open before this turn.

    One that means nothing any more is dropped, aloud. The open one is put again behind whatever a
    line brought, and a next one once the one before is answered. When none is left the step goes
    on, where readings that came meanwhile gave it all that it needs.
    """
    for question in before.questions:
        if question in turn.state.questions:
            _drop_moot(turn, before, question)
        elif turn.state.finished:
            _not_confirmed(turn, question)
    now = turn.state
    if now.question is None:
        if before.question is not None and not now.finished:
            _go_on(turn, before, before.question)
    elif not (now.standing_by or now.open_note) and _to_be_put(turn, before, now.question):
        turn.say("question", again(now))


def _drop_moot(turn: Turn, before: JobState, question: Question) -> None:
    waiting = waiting_in(question)
    why = KINDS[kind_of(question)].moot(before, turn.state, waiting)
    if why:
        turn.emit(e.Answered(question.seq, "dropped"))
        turn.answer(why)


def _not_confirmed(turn: Turn, question: Question) -> None:
    """A value that still waited when the job was closed."""
    answered = (v.asked for v in turn.happened if isinstance(v, e.Answered))
    waiting = waiting_in(question)
    if question.seq not in answered and isinstance(waiting, VALUES):
        turn.answer(f"{_value(waiting)} was not confirmed and is dropped.")


def _to_be_put(turn: Turn, before: JobState, question: Question) -> bool:
    """A line came in beside it, or it is its turn now; and it was not just put."""
    asked = next((v for v in turn.entries if v.seq == question.seq), None)
    if asked is not None and isinstance(asked.event, e.Asked) and not asked.event.behind:
        return False
    beside = question == before.question
    if beside and (turn.line is None or turn.ignored):
        return False
    return not turn.has_said(again(turn.state))


def _go_on(turn: Turn, before: JobState, asked: Question) -> None:
    state = turn.state
    step = state.open_step
    if step is None or (state.step, state.opened_seq) != (before.step, before.opened_seq):
        return
    meanwhile = [t for need in step.needs for t in state.here(need.quantity) if t.seq > asked.seq]
    if meanwhile and not (state.unmet() or state.unacknowledged() or step.hold or step.choices):
        steps.advance(turn)


def after_a_break(turn: Turn) -> None:
    """Ask what was open when work stopped once more, or say that it no longer counts."""
    state = turn.state
    if state.question is None or state.standing_by or state.open_note is not None:
        return
    put = waits(state.waiting, QUESTION)
    for question in state.questions:
        waiting = waiting_in(question)
        if isinstance(waiting, VALUES) and put is not None and turn.now - put.since > STILL_OPEN:
            turn.emit(e.Answered(question.seq, "dropped"))
            turn.answer(f"{_value(waiting)} was not confirmed and is dropped.")
    if turn.state.question is not None and not turn.has_said(again(turn.state)):
        turn.say("question", again(turn.state))


def _value(waiting: i.Reading | i.Correction | i.ChangeReading) -> str:
    return say(waiting.value, waiting.unit) if waiting.unit else f"{waiting.value:f}"
