"""When the loudspeaker sounded: the microphone drops what it took in then."""

from __future__ import annotations

import threading
from collections import deque

KEPT_S = 90.0  # whoever asks, asks of the last minute


class Sounding:
    """Spans of steady time in which there was sound; any thread may ask."""

    def __init__(self) -> None:
        self._spans: deque[tuple[float, float]] = deque()
        self._lock = threading.Lock()

    def note(self, start: float, end: float) -> None:
        """There is sound from start to end, which may lie ahead; starts never run back."""
        with self._lock:
            if self._spans and start <= self._spans[-1][1]:
                first, last = self._spans.pop()
                start, end = first, max(last, end)
            self._spans.append((start, end))
            while self._spans[0][1] < start - KEPT_S:
                self._spans.popleft()

    def end(self) -> float:
        """When the last of it ends, or ended."""
        with self._lock:
            return self._spans[-1][1] if self._spans else float("-inf")

    def at(self, moment: float) -> bool:
        """Whether there was, or will be, sound at that moment."""
        with self._lock:
            return any(start <= moment <= end for start, end in self._spans)
