"""Hearing that is behind: told once when sound has to be skipped, and once when that is over."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Protocol

from fieldvoice.commands.wiring.hearing.watch import Beat
from fieldvoice.devices.ears.waiting_sound import Skipped
from fieldvoice.quantity.counted import counted

LOOK_S = 0.5
LEAST_S = 1.0  # of sound: less is no word

BEHIND = ("I cannot keep up: this computer is too busy. From {begin} on I miss part of what is "
          "said. Wait until I keep up again, or type.")
CAUGHT_UP = "I keep up again. Between {begin} and {end} I missed {missed} of sound."


class _Microphone(Protocol):
    @property
    def skipped(self) -> Skipped | None:
        """What was skipped when hearing was behind the last time."""
        ...

    @property
    def caught_up(self) -> bool:
        """Whether hearing is not behind now."""
        ...


class Behind:
    """Looks after one microphone; `tell` says and shows."""

    def __init__(
        self, microphone: _Microphone, tell: Callable[[str], None],
        steady: Callable[[], float] = time.monotonic,
        now: Callable[[], datetime] = datetime.now,
    ) -> None:
        self._microphone, self._tell, self._steady, self._now = microphone, tell, steady, now
        self._told = False  # and not yet that it is over
        self._over: float | None = None  # when what was told as over had begun

    def watch(self, beat: Beat) -> None:
        """Look again and again, in a thread of its own: that of the recognizer has no time."""
        while beat():
            self.look()
            time.sleep(LOOK_S)

    def look(self) -> None:
        """See once how far hearing is behind."""
        skipped = self._microphone.skipped
        if skipped is None or skipped.seconds < LEAST_S or skipped.begin == self._over:
            return
        if not self._told:
            self._told = True
            self._tell(BEHIND.format(begin=self._time_of_day(skipped.begin)))
        if self._microphone.caught_up:
            self._told, self._over = False, skipped.begin
            self._tell(CAUGHT_UP.format(
                begin=self._time_of_day(skipped.begin), end=self._time_of_day(skipped.end),
                missed=counted(f"{skipped.seconds:.0f}", "second")))

    def _time_of_day(self, moment: float) -> str:
        at = self._now() - timedelta(seconds=self._steady() - moment)
        return f"{(at.hour - 1) % 12 + 1}:{at.minute:02d} {'AM' if at.hour < 12 else 'PM'}"
