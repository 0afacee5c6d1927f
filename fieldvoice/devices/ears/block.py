"""A piece of sound as it was captured, and the clock that tells when that was."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

RATE = 16_000
_LATE_S = 1.0  # sound that is later than this against the count of samples: some is missing
_DRIFT = 0.0005  # how far a sound card's clock may run off, as a share of time

Sound = NDArray[np.int16]


@dataclass(frozen=True)
class Block:
    """Sound without a gap in it."""

    samples: Sound  # 16 kHz mono
    at: float  # time.monotonic() at which its first sample was captured
    after_gap: bool = False  # sound that came before it is missing

    @property
    def end(self) -> float:
        """When its last sample was captured."""
        return self.at + len(self.samples) / RATE


class CaptureClock:
    """When samples were captured: their count tells it, as a busy computer passes them on late."""

    def __init__(self) -> None:
        self._heard_s = 0.0
        self._began: float | None = None

    def captured(self, samples: int, now: float) -> float:
        """The time of the first of so many samples that arrive now."""
        length = samples / RATE
        begin = now - length - self._heard_s
        if self._began is None or begin - self._began > _LATE_S:
            self._began = begin
        self._began = min(self._began + length * _DRIFT, begin)
        at = self._began + self._heard_s
        self._heard_s += length
        return at
