"""What the screen shows of a job: computed from the job state, and kept nowhere else.

It stands among the commands because it joins two rooms: the screen knows nothing of jobs, and the
dialogue nothing of screens.
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import datetime

from fieldvoice.commands.wiring.screen import step_now
from fieldvoice.commands.wiring.screen.vacuum_plot import vacuum_plot
from fieldvoice.devices.screen import View, clock_line
from fieldvoice.dialogue import pending_question, prompts, record_reading
from fieldvoice.dialogue.depth import listing
from fieldvoice.dialogue.units import question, tell
from fieldvoice.jobstate import unit_names as names
from fieldvoice.jobstate.depths import EVERY_STEP
from fieldvoice.jobstate.events import SIMULATED
from fieldvoice.jobstate.job import Job
from fieldvoice.jobstate.records import LoggedReading
from fieldvoice.jobstate.state import JobState
from fieldvoice.jobstate.timers import HOLD, running
from fieldvoice.quantity.quantities import speakable
from fieldvoice.quantity.units import SAID_TOGETHER, UNITS


def screen_state(shown: JobState | Job, now: datetime) -> View:
    """The view of a job at a moment: the same for live work, a replay and a job read from disk."""
    if isinstance(shown, JobState):
        return _unit(shown, now)
    view = _unit(shown.state, now)
    if shown.course.question is not None:
        view = replace(view, question=question.again(shown))
    return _among_others(view, shown, now) if shown.several else view


def _among_others(view: View, job: Job, now: datetime) -> View:
    """The open unit's view with its name in it, and what runs in the others."""
    others = [names.at_the_start(f"{names.called(job, unit)}: {_standing(state, now)}")
              for unit, state in job.states.items() if unit != job.open]
    open_unit = names.at_the_start(names.called(job, job.open))
    heard = _unit(job.states[job.course.last_line or job.open], now)
    return replace(view, heard=heard.heard, sure=heard.sure, outcome=heard.outcome,
                   title=f"{open_unit}: {view.title}", others=tuple(others),
                   finished=tell.is_finished(job, job.open) if view.finished else "")


def _standing(state: JobState, now: datetime) -> str:
    """Of a unit that is not open: its step, what it asks, what runs there."""
    if state.finished:
        return f"finished, {(state.ending or '').replace('-', ' ')}"
    asks = ["a question is open"] if state.question else []
    left = [clock_line([timer]) for timer in _time_left(state, now)]
    return ", ".join([prompts.step_words(state), *asks, *left])


def _unit(state: JobState, now: datetime) -> View:
    step, heard, reading = state.open_step, state.last_heard, _shown_reading(state)
    return View(
        title=state.procedure.stages[step.stage].title if step else state.procedure.title,
        task=step_now.asks(state, now),
        heard=heard.words if heard else "",
        sure=heard.confidence if heard else None,
        outcome=heard.outcome if heard else "",
        figure=_figure(reading) if reading else "",
        figure_label=_label(reading) if reading else "",
        timers=_time_left(state, now),
        question=pending_question.again(state) if state.question else "",
        standing_by="STANDING BY. Say carry on." if state.standing_by else "",
        open_note="NOTING. Say end note." if state.open_note else "",
        practice=state.mode in SIMULATED,
        depth="" if state.depth == EVERY_STEP else state.depth.replace("-", " "),
        listed=listing.on_screen(state, now),
        step=prompts.step_words(state),
        cautions=step_now.cautions(state),
        caution=bool(state.unacknowledged()),
        more=step_now.more(state, now),
        waits=step_now.waits(state, now),
        then=step_now.then(state, now),
        alarm=step_now.over_the_plate(state),
        hold=HOLD if state.hold is not None and state.hold.running else "",
        plot=vacuum_plot(state),
        can_say=step_now.can_say(state),
        finished=f"The job is finished: {state.ending.replace('-', ' ')}." if state.ending else "",
    )


def _shown_reading(state: JobState) -> LoggedReading | None:
    """The last counting reading of what the open step waits for; without one, the last of any."""
    awaited = record_reading.expected(state)
    return (state.last(awaited) if awaited else None) or state.last()


def _figure(reading: LoggedReading) -> str:
    """The number; the two numbers of "7 lb 2 oz"."""
    both = SAID_TOGETHER.get(reading.now.unit)
    return format(reading.now.value, "f") if both is None else " ".join(
        both.parts(reading.now.value)).replace(",", "")


def _label(reading: LoggedReading) -> str:
    unit, both = UNITS.get(reading.now.unit), SAID_TOGETHER.get(reading.now.unit)
    shown = f"{both.large} and {both.small}" if both else unit.screen if unit else reading.now.unit
    return f"{speakable(reading.quantity)}, {shown}"


def _time_left(state: JobState, now: datetime) -> tuple[tuple[str, int], ...]:
    """Label and whole seconds left of every timer that runs, soonest first."""
    return tuple((timer.label, math.ceil(timer.remaining(now).total_seconds()))
                 for timer in running(state.timers.values()))
