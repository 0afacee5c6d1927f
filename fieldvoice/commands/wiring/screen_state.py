"""What the screen shows of a job: computed from the job state, and kept nowhere else.

It stands among the commands because it joins two rooms: the screen knows nothing of jobs, and the
dialogue nothing of screens.
"""

from __future__ import annotations

import math
from datetime import datetime

from fieldvoice.devices.screen import View
from fieldvoice.dialogue import pending_question, prompts, record_reading
from fieldvoice.jobstate.records import LoggedReading
from fieldvoice.jobstate.state import JobState
from fieldvoice.jobstate.timers import running
from fieldvoice.quantity.quantities import speakable
from fieldvoice.quantity.units import UNITS


def screen_state(state: JobState, now: datetime) -> View:
    """The view of a job at a moment: the same for live work, a replay and a job read from disk."""
    step, heard, reading = state.open_step, state.last_heard, _shown_reading(state)
    return View(
        title=state.procedure.stages[step.stage].title if step else state.procedure.title,
        task=prompts.fill(step.say, state, now) if step else "",
        heard=heard.words if heard else "",
        sure=heard.confidence if heard else None,
        outcome=heard.outcome if heard else "",
        figure=format(reading.now.value, "f") if reading else "",
        figure_label=_label(reading) if reading else "",
        timers=_time_left(state, now),
        question=pending_question.again(state) if state.question else "",
        standing_by="Standing by. Say carry on." if state.standing_by else "",
        open_note="A note is open. Say end note." if state.open_note else "",
        finished=f"The job is finished: {state.ending.replace('-', ' ')}." if state.ending else "",
    )


def _shown_reading(state: JobState) -> LoggedReading | None:
    """The last counting reading of what the open step waits for; without one, the last of any."""
    awaited = record_reading.expected(state)
    return (state.last(awaited) if awaited else None) or state.last()


def _label(reading: LoggedReading) -> str:
    unit = UNITS.get(reading.now.unit)
    return f"{speakable(reading.quantity)}, {unit.screen if unit else reading.now.unit}"


def _time_left(state: JobState, now: datetime) -> tuple[tuple[str, int], ...]:
    """Label and whole seconds left of every timer that runs, soonest first."""
    return tuple((timer.label, math.ceil(timer.remaining(now).total_seconds()))
                 for timer in running(state.timers.values()))
