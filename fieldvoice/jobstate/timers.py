"""Timers and holds: due times and no thread, so that they survive a restart."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Set
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from decimal import Decimal
from functools import cached_property
from typing import Self

from fieldvoice.procedure.step import Hold
from fieldvoice.quantity.counted import counted

HOLD = "hold"
HALF, LAST_MINUTE, TEN_SECONDS = "half", "last minute", "ten seconds"  # called out of every timer
# A timer shorter than this has neither half nor last minute, or no ten seconds: two calls would
# come on each other's heels (from judgement; no source).
_LEAST = {HALF: timedelta(minutes=4), LAST_MINUTE: timedelta(minutes=4),
          TEN_SECONDS: timedelta(minutes=1)}
_BEFORE_END = {LAST_MINUTE: timedelta(minutes=1), TEN_SECONDS: timedelta(seconds=10)}
_MINUTE = timedelta(minutes=1)
BESIDE_A_MARK = 0.25  # minutes: what comes so close to a mark of the hold leaves it the word
ASK_AGAIN = (1, 3, 8)  # minutes after a hold's end was told, while closing readings are missing
AWAY = timedelta(seconds=90)  # an alert this late means that nobody was here to give it
LATE = timedelta(seconds=5)  # an alert this late says when its time was


@dataclass(frozen=True)
class Change:
    """What an event made of a timer."""

    seq: int
    at: datetime
    state: str  # "running", "stopped", "finished"
    due: datetime | None = None  # None: as it was
    seconds: float = 0.0  # asked for, or added
    reason: str | None = None  # why it was stopped
    untimed: bool = False  # stopped, as nobody knows how long it ran


@dataclass(frozen=True)
class Timer:
    """A named wait with a due time: all its changes in the history, else those that count."""

    label: str
    changes: tuple[Change, ...]  # the start first; the last one holds
    hold: str | None = None  # the step whose hold it is
    line: int | None = None
    reminded: float = field(default=-1.0)  # minutes of the last mark that was called out

    @property
    def seq(self) -> int:
        """Of the event that started it."""
        return self.changes[0].seq

    @property
    def started(self) -> datetime:
        """When it was started."""
        return self.changes[0].at

    @property
    def state(self) -> str:
        """As the last change left it: "running", "stopped" or "finished"."""
        return self.changes[-1].state

    @cached_property  # asked for at every tick
    def due(self) -> datetime:
        """When it runs out."""
        return next(c.due for c in reversed(self.changes) if c.due is not None)

    @property
    def running(self) -> bool:
        """Neither stopped nor finished."""
        return self.state == "running"

    @property
    def finished(self) -> bool:
        """Ran its whole time."""
        return self.state == "finished"

    @property
    def ended_at(self) -> datetime | None:
        """When it was stopped or ran out."""
        return None if self.running else self.changes[-1].at

    @property
    def cut_short(self) -> bool:
        """Stopped, for a reason, though the procedure wanted it run to its end."""
        return self.state == "stopped" and self.reason is not None and not self.untimed

    @property
    def untimed(self) -> bool:
        """Stopped, as nobody knows how long it ran."""
        return self.changes[-1].untimed

    @property
    def reason(self) -> str | None:
        """Why it was stopped before its time, where that was asked for."""
        return self.changes[-1].reason

    @property
    def own_reason(self) -> str | None:
        """Why it is shorter than the procedure's, where the technician asked for that."""
        return self.changes[0].reason

    @property
    def seconds(self) -> float:
        """All the time that was asked for."""
        return sum(c.seconds for c in self.changes)

    def remaining(self, now: datetime) -> timedelta:
        """Time left; never below zero."""
        return max(self.due - now, timedelta())

    def minutes(self, now: datetime) -> float:
        """Minutes since it began, to a hundredth."""
        return round((now - self.started).total_seconds() / 60.0, 2)

    def changed(self, change: Change) -> Timer:
        """The timer after an event."""
        return replace(self, changes=(*self.changes, change))

    def called_out(self, mark: str) -> Timer:
        """The timer after a reminder."""
        return replace(self, reminded=self.moment(mark))

    def moment(self, mark: str) -> float:
        """Minutes since it began at which a mark comes: "5 min", HALF, LAST_MINUTE, TEN_SECONDS."""
        length = self.due - self.started
        if mark.endswith(" min"):
            return float(mark.removesuffix(" min"))
        if mark not in _LEAST:  # of a newer log
            return self.reminded
        return (length / 2 if mark == HALF else length - _BEFORE_END[mark]) / _MINUTE

    @cached_property
    def calls(self) -> Mapping[str, float]:
        """What is called out of its time left, in order, by the minutes since it began.

        Nothing that lay before it was lengthened.
        """
        set_at = next(c.at for c in reversed(self.changes) if c.due is not None)
        since = (set_at - self.started) / _MINUTE
        return {mark: moment for mark, least in _LEAST.items()
                if self.due - set_at >= least and (moment := self.moment(mark)) > since}

    def without(self, withdrawn: Set[int]) -> Self | None:
        """The timer as if the withdrawn events had not been; None when one had begun it."""
        if self.seq in withdrawn:
            return None
        kept = tuple(c for c in self.changes if c.seq not in withdrawn)
        return self if len(kept) == len(self.changes) else replace(self, changes=kept)


def running(timers: Iterable[Timer]) -> list[Timer]:
    """Those that run, soonest first."""
    return sorted((t for t in timers if t.running), key=lambda t: t.due)


def due(timers: Iterable[Timer], now: datetime) -> list[Timer]:
    """Those that have run out and were not yet reported, in the order in which they ran out."""
    return [t for t in running(timers) if t.due <= now]


def free_label(wanted: str | None, timers: Iterable[Timer]) -> str:
    """The label wanted, or "timer", with a number behind it when one of that name runs."""
    base, taken = wanted or "timer", {t.label for t in timers if t.running}
    if base == HOLD:
        base = "timer"  # "hold" is the step's own
    numbered = (base if n == 1 else f"{base} {n}" for n in range(1, len(taken) + 2))
    return next(label for label in numbered if label not in taken)


def mark_to_call(hold: Hold, timer: Timer, now: datetime, last_reading: float) -> float | None:
    """The newest mark of a running hold whose minute has come and that nothing has answered.

    `last_reading`: minute of the hold's newest reading; one shortly before a mark answers it.
    """
    passed = timer.minutes(now)
    came = [m for m in marks(hold, timer) if m <= passed]
    if not came or came[-1] <= max(timer.reminded, last_reading + 0.34):
        return None
    return came[-1]


def overdue_to_call(timer: Timer, now: datetime) -> float | None:
    """The minute at which a finished hold is asked about again, when that has come; else None."""
    told = timer.minutes(timer.ended_at or timer.due)  # later than due where nobody was here
    came = [told + n for n in ASK_AGAIN if told + n <= timer.minutes(now)]
    return came[-1] if came and came[-1] > timer.reminded else None


def left_to_call(timer: Timer, now: datetime, beside: Iterable[float] = ()) -> str | None:
    """The newest of a running timer's calls that has come and was not given; None: there is none.

    `beside`: minutes at which its hold asks for a reading, which says where it stands as well.
    """
    passed, taken = (now - timer.started) / _MINUTE + 1e-6, tuple(beside)
    came = [mark for mark, moment in timer.calls.items()
            if timer.reminded + 1e-6 < moment <= passed
            and (mark == TEN_SECONDS or all(abs(moment - m) > BESIDE_A_MARK for m in taken))]
    return came[-1] if came else None


def marks(hold: Hold, timer: Timer) -> list[float]:
    """The minutes at which a reading is asked for; the end of the hold is no mark but an alert."""
    end = Decimal(str(round((timer.due - timer.started).total_seconds() / 60.0, 2)))
    found = [m for m in hold.marks if m < end]
    if hold.every is not None and hold.marks:
        mark = hold.marks[-1] + hold.every
        while mark < end:
            found.append(mark)
            mark += hold.every
    return [float(m) for m in found]


def say_duration(span: timedelta) -> str:
    """A duration as people say it: "9 minutes 30 seconds", "1 hour 15 minutes", "45 seconds"."""
    seconds = round(span.total_seconds())
    hours, rest = divmod(seconds, 3600)
    minutes, seconds = divmod(rest, 60)
    if hours:
        seconds = 0
    parts = [counted(n, unit) for n, unit in
             ((hours, "hour"), (minutes, "minute"), (seconds, "second")) if n]
    return " ".join(parts) or "0 seconds"


def say_ago(span: timedelta) -> str:
    """How long ago, in whole days from two on: "9 minutes 30 seconds ago", "3 days ago"."""
    days = span // timedelta(days=1)
    return f"{days} days ago" if days > 1 else f"{say_duration(span)} ago"
