"""The push-to-talk key: when it was on. A terminal tells no key-up, so each press turns it over."""

from __future__ import annotations

import time
from collections import deque

_REMEMBERED = 100  # changes


class TalkKey:
    """Heard only while it is on; always, where there is no such key."""

    def __init__(self, used: bool) -> None:
        self.used = used
        self._changes: deque[tuple[float, bool]] = deque([(0.0, not used)], maxlen=_REMEMBERED)

    @property
    def on(self) -> bool:
        """Whether sound is heard now."""
        return self._changes[-1][1]

    def turn(self, on: bool) -> None:
        """The key was pressed."""
        if self.used:
            self._changes.append((time.monotonic(), on))

    def off_at(self, moment: float) -> bool:
        """Whether it was off at a monotonic time."""
        for since, on in reversed(tuple(self._changes)):
            if since <= moment:
                return not on
        return True
