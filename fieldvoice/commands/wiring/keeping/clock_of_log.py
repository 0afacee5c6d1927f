"""The clock of a job that goes on: its log's time is carried on, not begun anew."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from fieldvoice.devices.clock import Clock, Jump
from fieldvoice.devices.joblog import JobLog
from fieldvoice.jobstate.events import ClockJumped, Entry, Restarted, recorded_last


def go_on(clock: object, log: JobLog) -> Restarted | None:
    """Carry on the time of a log; what to log where the computer was started anew meanwhile.

    A simulated clock was begun where the log ends. Lines heard from a recording tell of no start of
    the computer, so that none is known to have come since.
    """
    standing = log.standing
    if standing is None or not isinstance(clock, Clock):
        return None
    found = clock.go_on(standing.last, standing.mono, standing.zero, standing.boot,
                        ahead(log.entries))
    if found is None or (standing.boot is None and recorded_last(log.entries)):
        return None
    return Restarted(found.shows.isoformat(), found.behind)


def ahead(entries: Iterable[Entry]) -> timedelta:
    """By how much the wall clock was before the log's times when it ended; less than 0: behind."""
    found = timedelta()
    for entry in entries:
        if isinstance(entry.event, ClockJumped):
            found += timedelta(seconds=entry.event.seconds)
        elif isinstance(entry.event, Restarted):
            found = datetime.fromisoformat(entry.event.clock) - entry.at
    return found


def jumped(jump: Jump) -> ClockJumped:
    """A jump as it is logged."""
    return ClockJumped(round(jump.seconds, 3), jump.before.isoformat(), jump.after.isoformat())
