"""(job, what came in, now) -> entries and replies, for a job of one unit or several. Pure.

A line is for the open unit unless it names another one. Each unit's turn is that of
dialogue/assistant.py on that unit's state, which knows nothing of the others.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime

import fieldvoice
from fieldvoice.dialogue import assistant, attention
from fieldvoice.dialogue.confidence import Decision
from fieldvoice.dialogue.expectation import is_expected as unit_expects
from fieldvoice.dialogue.registry import registered
from fieldvoice.dialogue.turn import Heard, Tick
from fieldvoice.dialogue.units import (
    begin_unit,
    open_unit,
    place_facts,
    question,
    restart,
    tell,
    which_unit,
)
from fieldvoice.dialogue.units.begin_unit import FindProcedure
from fieldvoice.dialogue.units.round import Outcome, Round
from fieldvoice.jobstate import events
from fieldvoice.jobstate import unit_names as names
from fieldvoice.jobstate.earlier_job import LookUp, no_other_job
from fieldvoice.jobstate.job import FIRST, Job
from fieldvoice.jobstate.timers import running
from fieldvoice.language import intents as i

__all__ = [
    "Outcome", "begin", "clock_set", "handle", "is_expected", "keep_clips", "let_pass", "reopen",
    "resume",
]


def begin(
    job: Job, now: datetime, name: str, site: Mapping[str, str], depth: str | None = None,
    mode: str = events.WORK,
) -> Outcome:
    """Start a job with its first unit. Raises what assistant.begin raises."""
    turns = Round(job, now)
    turns.take(FIRST, assistant.begin(job.at(FIRST), now, name, site, depth=depth, mode=mode))
    return turns.finish()


def resume(
    job: Job, now: datetime, told: Mapping[str, str] | None = None, depth: str | None = None,
    restarted: events.Restarted | None = None,
) -> Outcome:
    """Go on after an interruption: where the open unit stands, and what ran out in the others.

    `restarted`: the computer was started anew meanwhile.
    `told`: facts that are given now; raises FactError for those that the open unit refuses.
    """
    turns = Round(job, now)
    if restarted is not None:
        restarted = restart.with_what_runs(job, now, restarted)
    if job.state.finished:
        _resume_elsewhere(turns, restarted)
    else:
        outcome = assistant.resume(job.at(job.open), now, told, depth, restarted)
        turns.take(job.open, outcome, named=job.several)
    place_facts.spread(turns, job.open, job.state)
    _pass_time(turns, but=job.open)
    if job.course.question is not None:
        question.ask_again(turns)
    return turns.finish()


def clock_set(job: Job, now: datetime, jumped: events.ClockJumped) -> Outcome:
    """The computer's clock was set while work goes on: logged, and said shortly."""
    turns = Round(job, now)
    turn = turns.turn(job.open)
    turn.emit(jumped)
    turn.say("alert", restart.jump_words(jumped))
    turns.take(job.open, turn.finish())
    return turns.finish()


def let_pass(job: Job, now: datetime, seconds: float) -> Outcome:
    """In practice: time was let pass, up to now; only logged, so that it is not lost."""
    turns = Round(job, now)
    turns.note(job.open, events.TimeLetPass(seconds))
    return turns.finish()


def take_recording(job: Job, now: datetime, heard: events.RecordingHeard) -> Outcome:
    """A recording is heard from now on; only logged."""
    turns = Round(job, now)
    turns.note(job.open, heard)
    return turns.finish()


def _resume_elsewhere(turns: Round, restarted: events.Restarted | None) -> None:
    """The open unit is finished; the job goes on with another."""
    turn = turns.turn(turns.job.open)
    turn.emit(events.JobResumed(fieldvoice.__version__))
    if restarted is not None:
        turn.emit(restarted)
    turn.answer(f"Job {turn.state.job} goes on. {tell.is_finished(turns.job, turns.job.open)}")
    turns.take(turns.job.open, turn.finish())
    restart.ask_elsewhere(turns)


def keep_clips(job: Job, now: datetime, kept: bool) -> Outcome:
    """Keep the sound of lines from here on, or do not."""
    turns = Round(job, now)
    turn = turns.turn(job.open)
    turn.emit(events.ClipsKept(kept))
    turn.say("answer", "Sound is kept." if kept else "No sound is kept, words only.", aloud=False)
    turns.take(job.open, turn.finish())
    return turns.finish()


def use_voice(job: Job, now: datetime, voice: events.OwnVoiceUsed) -> Outcome:
    """Spoken lines are heard with a technician's own voice from here on, or with none."""
    turns = Round(job, now)
    turn = turns.turn(job.open)
    turn.emit(voice)
    turn.say("answer", f"I hear with the voice of {voice.name}." if voice.name else
             "I hear with nobody's own voice.", aloud=False)
    turns.take(job.open, turn.finish())
    return turns.finish()


def reopen(job: Job, now: datetime, reason: str) -> Outcome:
    """Open a job that was closed, at the unit that was open last, to add to it."""
    turns = Round(job, now)
    turns.take(job.open, assistant.reopen(job.at(job.open), now, reason), named=job.several)
    return turns.finish()


def handle(
    job: Job, came: Heard | Tick, now: datetime, find: FindProcedure | None = None,
    look_up: LookUp = no_other_job,
) -> Outcome:
    """Answer a line, or the passing of time.

    `find` finds the procedure of a new unit; `look_up` gives what another job's log says.
    """
    turns = Round(job, now, look_up)
    if isinstance(came, Tick):
        _pass_time(turns)
    elif _is_for_the_open_one(job, came):
        _say(turns, job.open, came)
    else:
        _line(turns, came, find)
    return turns.finish()


def is_expected(job: Job, intent: i.Intent) -> bool:
    """Whether the unit that it is for waits for this intent."""
    if isinstance(intent, i.ForUnit):
        unit = names.find(job, intent.unit)
        return unit is not None and unit_expects(job.states[unit], intent.said)
    if job.course.question is not None:
        return isinstance(intent, i.OpenUnit | i.Yes | i.No)
    return unit_expects(job.states[which_unit.asker(job)], intent)


def _pass_time(turns: Round, but: str = "") -> None:
    """A tick for each unit, in the order in which their timers are due.

    While several are at work the open one says its name too: nobody remembers which one is open.
    """
    job = turns.job

    def due(unit: str) -> datetime:
        soonest = running(job.states[unit].timers.values())
        return soonest[0].due if soonest else datetime.max.replace(tzinfo=turns.now.tzinfo)

    at_work = sum(not state.finished for state in job.states.values())
    for unit in sorted(job.states, key=due):
        if unit != but and not job.states[unit].finished:
            outcome = assistant.handle(turns.job.at(unit), Tick(), turns.now)
            turns.take(unit, outcome, named=at_work > 1 or unit != job.open)


def _is_for_the_open_one(job: Job, heard: Heard) -> bool:
    """A note takes every line; so do standing by, and talk to others: they only ignore it."""
    said = heard.intent.said if isinstance(heard.intent, i.ForUnit) else heard.intent
    ignored = assistant.decide(said, heard.confidence, heard.words) is Decision.IGNORE
    aside = ignored or attention.is_cut_short(heard)
    return job.state.open_note is not None or job.state.standing_by or aside


def _line(turns: Round, heard: Heard, find: FindProcedure | None) -> None:
    """What a line asks for: of the units, of a unit that it names, or of the open one."""
    asked, how = turns.job.course.question, ""
    if asked is not None:
        settled = question.answer(turns, heard)
        if settled is None:
            return
        heard, how = settled
    _hand_over(turns, heard, find)
    if asked is not None:
        question.close(turns, asked, how)


def _hand_over(turns: Round, heard: Heard, find: FindProcedure | None) -> None:
    intent = heard.intent
    units = isinstance(intent, i.OpenUnit | i.BeginUnit)
    if units and assistant.decide(intent, heard.confidence, heard.words) is Decision.ASK:
        question.ask_whether(turns, heard)
    elif isinstance(intent, i.OpenUnit):
        open_unit.open_unit(turns, heard, intent)
    elif isinstance(intent, i.BeginUnit):
        begin_unit.begin_unit(turns, heard, intent, find)
    elif isinstance(intent, i.AskUnits):
        tell.ask_units(turns, heard)
    elif isinstance(intent, i.ForUnit):
        _for_unit(turns, heard, intent)
    else:
        _unnamed(turns, heard)


def _for_unit(turns: Round, heard: Heard, intent: i.ForUnit) -> None:
    unit = names.find(turns.job, intent.unit)
    if unit is None:
        tell.not_begun(turns, heard, intent.unit)
    else:
        _say(turns, unit, replace(heard, intent=intent.said), named=turns.job.several)


def _unnamed(turns: Round, heard: Heard) -> None:
    """A line that names no unit: where it may be for two of them, which one is asked."""
    job = turns.job
    answered = which_unit.answered(job, heard.intent)
    if answered is not None:
        _say(turns, answered, heard, named=True)
        return
    units = which_unit.doubtful(job, heard.intent, turns.now)
    if units:
        question.ask_which(turns, heard, units)
    else:
        called = any(job.course.called_since(job.open, unit) for unit in job.states)
        elsewhere = job.course.last_line not in (None, job.open)
        _say(turns, job.open, heard, named=job.several and (called or elsewhere))


def _say(turns: Round, unit: str, heard: Heard, *, named: bool = False) -> None:
    """A line to one unit, as if there were no other."""
    state = turns.job.at(unit)
    if turns.job.several and state.finished and not registered(heard.intent).after_end:
        tell.refuse(turns, heard, tell.is_finished(turns.job, unit))
        return
    turns.take(unit, assistant.handle(state, heard, turns.now, turns.look_up), named=named)
    place_facts.spread(turns, unit, state)
