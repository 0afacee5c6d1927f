"""How loud a place is when nobody speaks: the quietest of its last seconds."""

from __future__ import annotations

from bisect import bisect_left, insort
from collections import deque

from fieldvoice.devices.recognizer import RATE

FLOOR_S = 3.0  # the noise of the place is the quietest of so long: between words it shows through
FLOOR_SHARE = 0.1  # of these frames lie below the noise floor


class NoiseFloor:
    """Follows the levels of frames, in decibels."""

    def __init__(self, frame: int) -> None:
        """`frame`: its length in samples."""
        self._recent = deque[float](maxlen=round(FLOOR_S * RATE / frame))
        self._in_order: list[float] = []  # the same

    def with_next(self, level: float) -> float:
        """The floor once this frame was heard too."""
        if len(self._recent) == self._recent.maxlen:
            del self._in_order[bisect_left(self._in_order, self._recent[0])]
        self._recent.append(level)
        insort(self._in_order, level)
        return self._in_order[int(FLOOR_SHARE * len(self._in_order))]
