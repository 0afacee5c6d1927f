"""When a voice that tells only whether it speaks now was speaking."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable

_REMEMBERED = 1_000  # looks: about a minute of them


class AsItSpeaks:
    """Looks at every question whether it speaks, and remembers that."""

    def __init__(self, speaking: Callable[[], bool]) -> None:
        self._speaking = speaking
        self._looks: deque[tuple[float, bool]] = deque(maxlen=_REMEMBERED)

    def deaf_at(self, moment: float) -> bool:
        """Whether it spoke at a monotonic time, as far as the looks around that tell."""
        self._looks.append((time.monotonic(), self._speaking()))
        spoke = self._looks[-1][1]
        for looked, speaking in reversed(tuple(self._looks)):
            if looked <= moment:
                return spoke or speaking
            spoke = speaking
        return spoke
