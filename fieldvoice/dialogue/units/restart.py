"""A computer that was started anew, or whose clock was set: what it means to a job's units."""

from __future__ import annotations

from datetime import datetime, timedelta

from fieldvoice.dialogue.times import clock_doubt
from fieldvoice.dialogue.units.round import Round
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate import unit_names as names
from fieldvoice.jobstate.job import Job
from fieldvoice.jobstate.timers import running, say_duration


def with_what_runs(job: Job, now: datetime, restarted: e.Restarted) -> e.Restarted:
    """The restart with what runs in the job's units, and how long it has run by the clock."""
    ran = {}
    for unit, state in job.states.items():
        of = f" of {names.called(job, unit)}" if job.several else ""
        for timer in [] if state.finished else running(state.timers.values()):
            ran[f"the {timer.label}{of}"] = (now - timer.started).total_seconds()
    return e.Restarted(restarted.clock, restarted.behind, ran)


def ask_elsewhere(turns: Round) -> None:
    """The open unit is finished: the question of the clock is put in one where something runs."""
    for unit, state in turns.job.states.items():
        if state.clock_doubt is not None and not state.finished and running(state.timers.values()):
            turns.open(unit)
            turn = turns.turn(unit)
            clock_doubt.arises(turn)
            turns.take(unit, turn.finish(), named=True)
            return


def jump_words(jumped: e.ClockJumped) -> str:
    """What is said of a clock that was set."""
    way, by = "forward" if jumped.seconds > 0 else "back", timedelta(seconds=abs(jumped.seconds))
    return f"The computer's clock was set {way} {say_duration(by)}. Timers go on as they were."
