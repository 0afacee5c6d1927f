"""Questions about units: which one a line is for, whether one is to be begun or opened."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fieldvoice.dialogue import assistant
from fieldvoice.dialogue.confidence import Decision
from fieldvoice.dialogue.turn import Heard
from fieldvoice.dialogue.units.round import Round
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate import unit_names as names
from fieldvoice.jobstate.course import UnitQuestion
from fieldvoice.jobstate.job import Job
from fieldvoice.language import intents as i

WHICH, BEGIN, WHETHER = "which", "begin", "confidence"


def ask_which(turns: Round, heard: Heard, units: Sequence[str]) -> None:
    """Nothing counts until it is known which unit is meant."""
    _ask(turns, heard, WHICH, heard.intent,
         f"For which unit? Say {names.listed(turns.job, units, 'or')}.")


def ask_to_begin(turns: Round, heard: Heard, name: str) -> None:
    """A unit that was never begun is begun only after a yes."""
    _ask(turns, heard, BEGIN, i.BeginUnit(name), _words(BEGIN, i.BeginUnit(name), turns.job))


def ask_whether(turns: Round, heard: Heard) -> None:
    """A switch that was not heard for sure would send readings to a wrong unit."""
    _ask(turns, heard, WHETHER, heard.intent, _words(WHETHER, heard.intent, turns.job))


def ask_again(turns: Round) -> None:
    """The open question once more, after an interruption."""
    turn = turns.turn(turns.job.open)
    turn.say("question", again(turns.job))
    turns.take(turns.job.open, turn.finish())


def again(job: Job) -> str:
    """The open question as it is shown and asked again."""
    asked = job.course.question
    assert asked is not None
    return _words(asked.why, i.Intent.from_dict(dict(asked.intent)), job)


def answer(turns: Round, heard: Heard) -> tuple[Heard, str] | None:
    """Use a line as the answer: the line that is to be done now, and how the question was closed.

    None: all is done. A line that is no answer is done in place of what waited.
    """
    asked = turns.job.course.question
    assert asked is not None
    intent, waiting = heard.intent, i.Intent.from_dict(dict(asked.intent))
    sure = assistant.decide(intent, heard.confidence, heard.words) is Decision.ACCEPT
    if isinstance(intent, i.No | i.TakeBack):
        _refused(turns, heard, asked)
    elif asked.why == WHICH and isinstance(intent, i.OpenUnit) and sure:
        if names.find(turns.job, intent.unit) is not None:
            return replace(heard, intent=i.ForUnit(intent.unit, waiting)), intent.unit
        _once_more(turns, heard)
    elif asked.why != WHICH and isinstance(intent, i.Yes) and sure:
        return replace(heard, intent=waiting), "yes"
    elif isinstance(intent, i.Yes | i.NotUnderstood):
        _once_more(turns, heard)
    else:
        return heard, "replaced"
    return None


def close(turns: Round, asked: UnitQuestion, how: str) -> None:
    """The line was done; a value that waited for its unit is not lost without a word."""
    waiting = i.Intent.from_dict(dict(asked.intent))
    now_asked = turns.job.course.question
    if how == "replaced" and asked.why == WHICH and now_asked == asked:
        turn = turns.turn(turns.job.open)
        turn.answer(f"{_what(waiting)} before was dropped: no unit was said.")
        turns.take(turns.job.open, turn.finish())
    turns.note(turns.job.open, e.UnitAnswered(asked.seq, how))


def _refused(turns: Round, heard: Heard, asked: UnitQuestion) -> None:
    turn = turns.turn(turns.job.open)
    turn.hear(heard)
    turn.answer("Dropped." if asked.why == WHICH else "All right, not done.")
    turns.take(turns.job.open, turn.finish())
    turns.note(turns.job.open, e.UnitAnswered(asked.seq, "no"))


def _what(waiting: i.Intent) -> str:
    value = waiting.value if isinstance(waiting, i.Reading | i.Correction) else None
    return f"The {waiting.name().replace('-', ' ')}{'' if value is None else f' {value:f}'}"


def _once_more(turns: Round, heard: Heard) -> None:
    turn = turns.turn(turns.job.open)
    turn.hear(heard)
    turn.ask(again(turns.job))
    turns.take(turns.job.open, turn.finish())


def _ask(turns: Round, heard: Heard, why: str, intent: i.Intent, text: str) -> None:
    turn = turns.turn(turns.job.open)
    turn.hear(heard)
    assert turn.line is not None
    turn.emit(e.UnitAsked(turn.line, why, intent.to_dict()))
    turn.ask(text)
    turns.take(turns.job.open, turn.finish())


def _words(why: str, waiting: i.Intent, job: Job) -> str:
    if why == BEGIN and isinstance(waiting, i.BeginUnit):
        return f"{names.at_the_start(waiting.unit)} is not open. Begin it? Say yes or no."
    if isinstance(waiting, i.OpenUnit):
        return f"Open {waiting.unit}? Say yes or no."
    if isinstance(waiting, i.BeginUnit):
        return f"Begin {waiting.unit}? Say yes or no."
    return f"For which unit? Say {names.listed(job, job.states, 'or')}."
