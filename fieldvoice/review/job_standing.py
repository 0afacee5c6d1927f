"""How a job stands, for a list of jobs: from its log alone, without its procedure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from fieldvoice.jobstate.events import SIMULATED, Entry, last_worked_on, recorded_last
from fieldvoice.jobstate.job import Job, fold_job
from fieldvoice.jobstate.state import JobState
from fieldvoice.jobstate.timers import Timer, running, say_ago, say_duration
from fieldvoice.procedure.model import Procedure
from fieldvoice.quantity.counted import counted
from fieldvoice.review.wording import name_words

_NONE = Procedure(name="", title="", text="")


@dataclass(frozen=True)
class TimerStanding:
    """A hold or timer that was not stopped."""

    label: str
    due: datetime
    left_s: int  # below 0: how long ago it ran out
    when_heard: bool = False  # `left_s` is of the last line: nobody listened to what came after

    @property
    def words(self) -> str:
        """As a list has it."""
        span = timedelta(seconds=abs(self.left_s))
        if self.left_s <= 0:
            return f"{self.label} ran out {say_ago(span)}"
        left = f"{self.label} {say_duration(span)} left"
        return f"{left} when last heard" if self.when_heard else left


@dataclass(frozen=True)
class UnitStanding:
    """How one unit of a job stands."""

    state: str  # "not begun", "open at pull", "finished: released"
    step: str = ""
    since: datetime | None = None  # the step was opened, or the unit was finished
    timers: tuple[TimerStanding, ...] = ()
    asks: bool = False  # a question is open


@dataclass(frozen=True)
class JobStanding:
    """How a job stands as its log has it."""

    procedure: str
    mode: str  # of jobstate/events.py
    started: datetime | None
    last_at: datetime | None  # last worked on
    standing_by: bool
    units: dict[str, UnitStanding]  # by name, in the order of their beginning

    @property
    def standing(self) -> str:
        """In one word: "not-begun", "paused", "standing-by" or "finished"."""
        if self.started is None:
            return "not-begun"
        if all(unit.state.startswith("finished") for unit in self.units.values()):
            return "finished"
        return "standing-by" if self.standing_by else "paused"

    @property
    def state(self) -> str:
        """Of one unit as it is, of several with their names."""
        if len(self.units) < 2:
            return "".join(unit.state for unit in self.units.values()) or "not begun"
        return "; ".join(f"{name} {unit.state}" for name, unit in self.units.items())


def job_standing(
    entries: Sequence[Entry], now: datetime, last_at: datetime | None = None
) -> JobStanding:
    """How it stands; linear.

    In simulated time no timer runs on while nobody works; and nobody knows how one went on after
    the end of a recording that was made on site and heard afterwards.

    `last_at`: when it was last worked on, where `entries` are not all that the log has.
    """
    job = fold_job(Job.of(JobState.empty(_NONE)), entries, lenient=True)
    first = next(iter(job.states.values()))
    started = first.history.started
    last_at = last_at or last_worked_on(entries)
    heard = recorded_last(entries)
    moment = last_at or now if heard or job.mode in SIMULATED else now
    units = {name: _unit(state, moment, heard) for name, state in job.states.items()}
    return JobStanding(
        started.procedure if started else "", job.mode, first.history.began, last_at,
        any(state.standing_by for state in job.states.values()), units if entries else {})


def _unit(state: JobState, now: datetime, heard: bool) -> UnitStanding:
    visits = state.history.visits
    if state.ending is not None:
        ended = visits[-1].exit.at if visits and visits[-1].exit else state.last_at
        return UnitStanding(f"finished: {state.ending}", since=ended)
    if state.step is None:
        return UnitStanding("not begun")
    timers = tuple(_timer(timer, now, heard) for timer in running(state.timers.values()))
    since = next((visit.at for visit in reversed(visits) if visit.step == state.step), None)
    return UnitStanding(f"open at {state.step}", state.step, since, timers,
                        state.question is not None)


def _timer(timer: Timer, now: datetime, heard: bool) -> TimerStanding:
    left_s = round((timer.due - now).total_seconds())
    return TimerStanding(timer.label, timer.due, left_s, heard)


def ago_words(then: datetime, now: datetime) -> str:
    """How long ago, in the largest unit that says enough: "3 days ago", "2 hours ago", "just now".
    """
    seconds = (now - then).total_seconds()
    for length, unit in ((86_400, "day"), (3_600, "hour"), (60, "minute")):
        if seconds >= length:
            return f"{counted(int(seconds // length), unit)} ago"
    return "just now" if seconds > -60 else "at a time still to come"


def in_words(found: JobStanding, now: datetime) -> str:
    """All that a list says of a job: what stands open since when, and what runs there."""
    told = [_unit_words(name if len(found.units) > 1 else "", unit, now)
            for name, unit in found.units.items()]
    asks = ", a question is open" if any(unit.asks for unit in found.units.values()) else ""
    return f"{'; '.join(told) or 'not begun'}{asks}"


def _unit_words(name: str, unit: UnitStanding, now: datetime) -> str:
    since = "" if unit.since is None else f" since {short_time(unit.since, now)}"
    state = name_words(unit.state).lower() if unit.step else unit.state
    told = f"{state}{since if unit.step else ''}"
    return ", ".join([f"{name} {told}".strip(), *(timer.words for timer in unit.timers)])


def short_time(at: datetime, now: datetime) -> str:
    """The time of today, else with its date."""
    local = at.astimezone(now.tzinfo)
    return f"{local:%H:%M}" if local.date() == now.date() else f"{local:%Y-%m-%d %H:%M}"
