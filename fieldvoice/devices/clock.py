"""Time for the job: the wall clock at the start, carried on by a clock that never jumps."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

BOOT_ID = Path("/proc/sys/kernel/random/boot_id")  # Linux: another one each time it is started
JUMP = timedelta(seconds=2)  # less is the slow correction of a clock that is kept right
_AT_ONCE_S = 0.05  # two clocks read within so much time were read together
_TRIES = 20


def _steady() -> float:
    """Seconds that also count while the computer sleeps, where the system can tell."""
    boot = getattr(time, "CLOCK_BOOTTIME", None)  # Linux; its monotonic clock stops in sleep
    if boot is None and sys.platform == "darwin":  # there this one goes on, by its manual page
        boot = time.CLOCK_MONOTONIC
    return time.monotonic() if boot is None else time.clock_gettime(boot)


def _wall() -> datetime:
    return datetime.now().astimezone()


def boot_id() -> str | None:
    """Which start of the computer this is; None where the system does not tell."""
    try:
        return BOOT_ID.read_text(encoding="ascii").strip() or None
    except (OSError, UnicodeDecodeError):
        return None


@dataclass(frozen=True)
class Jump:
    """The wall clock was set: it shows `after` where it would have shown `before`."""

    before: datetime
    after: datetime

    @property
    def seconds(self) -> float:
        """Forward; negative: back."""
        return (self.after - self.before).total_seconds()


@dataclass(frozen=True)
class Restart:
    """The computer was started anew since a log ended: its wall clock alone tells how long ago."""

    shows: datetime
    behind: bool  # it shows less than the log had reached


class Clock:
    """Wall time at the start plus steady seconds since, so that a reset of the wall clock on the
    way neither shortens a hold nor puts the log out of order.
    """

    def __init__(
        self, wall: Callable[[], datetime] = _wall, steady: Callable[[], float] = _steady,
        boot: str | None = None,
    ) -> None:
        """`wall`: aware times, `steady`: seconds that never jump, `boot`: None asks the system."""
        self._wall, self._steady = wall, steady
        self.boot = boot_id() if boot is None else boot
        self._start, self._steady_start = self._both()
        self._ahead = timedelta()  # of the wall clock before this one, when it was looked at last

    def now(self) -> datetime:
        """The moment, with its offset from UTC."""
        return self._start + timedelta(seconds=self._steady() - self._steady_start)

    def steady(self) -> float:
        """Seconds of a clock that never jumps; its zero means nothing."""
        return self._steady()

    def go_on(
        self, last: datetime, mono: float, zero: datetime, boot: str | None, ahead: timedelta
    ) -> Restart | None:
        """Carry on the time of a log whose last line is of `last`, written at `mono` of `boot`.

        `zero`: when its steady clock stood at 0; `ahead`: of the wall clock before the log's times.
        Within one start of the computer the steady clock tells the time passed since; where the
        system does not name its starts, they are one when both clocks tell the same.
        """
        wall, steady = self._both()
        one = zero + timedelta(seconds=steady)
        agree = abs(wall - ahead - one) <= JUMP
        same = agree if None in (boot, self.boot) else boot == self.boot
        if same and mono - steady < 1.0:  # else the steady clock began anew all the same
            self._start, self._ahead = one.astimezone(wall.tzinfo), ahead
            self._steady_start = steady
            return None
        found = wall - ahead
        self._start, self._steady_start = max(found, last).astimezone(wall.tzinfo), steady
        self._ahead = wall - self._start
        return Restart(wall, found < last)

    def jump(self) -> Jump | None:
        """How the wall clock was set since this was asked last; None: it was not."""
        wall, steady = self._both()
        now = self._start + timedelta(seconds=steady - self._steady_start)
        before, self._ahead = now + self._ahead, wall - now
        return Jump(before, wall) if abs(wall - before) > JUMP else None

    def _both(self) -> tuple[datetime, float]:
        """Both clocks at one moment, though the program may be stopped between two readings."""
        for _ in range(_TRIES):
            began, wall, ended = self._steady(), self._wall(), self._steady()
            if ended - began <= _AT_ONCE_S:
                break
        return wall, ended


class SimulatedClock:
    """A clock moved by hand: a ten-minute hold takes no time."""

    boot: str | None = None

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
