"""Simulated time: where it goes on, how spans are written, letting them pass tick by tick."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from pathlib import Path

from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.devices.clock import SimulatedClock
from fieldvoice.devices.joblog import LOG_NAME, read_log
from fieldvoice.session import Session

TICK = timedelta(seconds=1)
_UNITS = {"s": "seconds", "sec": "seconds", "min": "minutes", "m": "minutes", "h": "hours"}
_SPAN = re.compile(r"\+?\s*(\d+(?:\.\d+)?)\s*(s|sec|min|m|h)", re.IGNORECASE)


def goes_on_at(folder: Path) -> datetime:
    """The moment at which a practised job goes on: that of its last event, now for a new one.

    Raises JobLogError for a log that cannot be read.
    """
    entries = read_log(folder).entries if (folder / LOG_NAME).exists() else []
    return entries[-1].at if entries else datetime.now().astimezone()


def span(text: str) -> timedelta:
    """A span written "+40s", "10 min" or "1h 30min". Raises CommandError."""
    total, rest = timedelta(0), text.strip()
    if not rest:
        raise CommandError("no span of time was given; write it like +40s, +10min or +1h")
    while rest:
        found = _SPAN.match(rest)
        if found is None:
            raise CommandError(f"{text!r} is no span of time; write it like +40s, +10min or +1h")
        total += timedelta(**{_UNITS[found[2].lower()]: float(found[1])})
        rest = rest[found.end() :].strip()
    return total


def let_pass(session: Session, clock: SimulatedClock, time: timedelta) -> None:
    """Move the clock on in ticks, so that reminders and ends of timers come when they are due."""
    while time > timedelta(0) and not session.job.finished:
        step = min(TICK, time)
        clock.move(step)
        session.tick()
        time -= step
