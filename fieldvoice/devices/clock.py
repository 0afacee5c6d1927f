"""Time for the job: the wall clock at the start, carried on by a clock that never jumps."""

from __future__ import annotations

import time
from datetime import datetime, timedelta


def _steady() -> float:
    """Seconds that also count while the computer sleeps, where the system can tell."""
    boot = getattr(time, "CLOCK_BOOTTIME", None)  # Linux; its monotonic clock stops in sleep
    return time.monotonic() if boot is None else time.clock_gettime(boot)


class Clock:
    """Wall time at the start plus steady seconds since, so that a reset of the wall clock on the
    way neither shortens a hold nor puts the log out of order.
    """

    def __init__(self) -> None:
        self._start = datetime.now().astimezone()
        self._steady_start = _steady()

    def now(self) -> datetime:
        """The moment, with its offset from UTC."""
        return self._start + timedelta(seconds=_steady() - self._steady_start)

    def steady(self) -> float:
        """Seconds of a clock that never jumps; its zero means nothing."""
        return _steady()


class SimulatedClock:
    """A clock moved by hand: a ten-minute hold takes no time."""

    def __init__(self, start: datetime) -> None:
        """`start` must carry its offset from UTC."""
        if start.tzinfo is None:
            raise ValueError("the start of a clock must carry its offset from UTC")
        self._start = start
        self._now = start

    def now(self) -> datetime:
        """The moment, with its offset from UTC."""
        return self._now

    def steady(self) -> float:
        """Seconds since the start."""
        return (self._now - self._start).total_seconds()

    def move(self, by: timedelta) -> None:
        """Let time pass. Raises ValueError when it would run back."""
        if by < timedelta(0):
            raise ValueError(f"time cannot run back by {-by}")
        self._now += by
