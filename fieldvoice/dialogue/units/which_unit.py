"""Which unit a line that names none is for, and when that must be asked."""

from __future__ import annotations

from datetime import datetime, timedelta

from fieldvoice.dialogue import record_reading
from fieldvoice.dialogue.registry import registered
from fieldvoice.jobstate.job import Job
from fieldvoice.jobstate.state import JobState
from fieldvoice.language import intents as i
from fieldvoice.quantity.resolve_reading import Resolved, resolve

LONG_AGO = timedelta(minutes=20)  # after that a reading may be of another unit than the open one
_REPAIRS = (i.Correction, i.ChangeReading, i.TakeBack, i.PutBack)
_ANSWERS = (i.Yes, i.No, i.TakeBack)
_VALUES = (i.Reading, i.Correction)


def asker(job: Job) -> str:
    """The unit that a plain answer is for: the one spoken to last, where it asked something."""
    last = job.course.last_line
    return last if last and job.states[last].question is not None else job.open


def answered(job: Job, intent: i.Intent) -> str | None:
    """The unit, other than the open one, that a plain answer is for: the one spoken to last."""
    last = job.course.last_line
    if last is None or last == job.open:
        return None
    state = job.states[last]
    if isinstance(intent, i.Understood):
        return last if state.unacknowledged() and not job.state.unacknowledged() else None
    question = state.question
    if question is None:
        return None
    if question.why == "reason":
        return None if registered(intent).keeps_question else last
    waiting = i.Intent.from_dict(dict(question.intent))
    again = isinstance(waiting, _VALUES) and isinstance(intent, _VALUES)
    return last if again or isinstance(intent, _ANSWERS) else None


def doubtful(job: Job, intent: i.Intent, now: datetime) -> list[str]:
    """The units that a line may be for; none where it is for the open one."""
    if not job.several:
        return []
    last = job.course.last_line
    elsewhere = last if last != job.open else None
    if elsewhere is not None and isinstance(intent, _REPAIRS):
        return [job.open, elsewhere]
    if elsewhere is not None and isinstance(intent, i.Understood):
        return [job.open, elsewhere] if job.states[elsewhere].unacknowledged() else []
    if isinstance(intent, i.Reading):
        waiting = _waiting(job, intent, now)
        return [job.open, *waiting] if waiting else []
    return []


def _waiting(job: Job, intent: i.Reading, now: datetime) -> list[str]:
    """Other units that wait for this reading, where there is cause to think of them."""
    others = [unit for unit in job.states
              if unit != job.open and _waits(job.states[unit], intent)]
    calling = [unit for unit in others if job.course.called_last(job.open, unit)]
    if calling or not others:
        return calling
    spoken_to = job.course.spoken_to.get(job.open)
    lately = spoken_to is not None and now - spoken_to.at <= LONG_AGO
    return [] if lately and _waits(job.state, intent) else others


def _waits(state: JobState, intent: i.Reading) -> bool:
    """Whether a unit's step waits for this quantity; any could be meant where none is named."""
    wanted = None if state.finished else record_reading.expected(state)
    if wanted is None:
        return False
    found = resolve(intent.value, intent.unit, intent.quantity, expected=wanted, site=state.site)
    return isinstance(found, Resolved) and found.quantity == wanted
