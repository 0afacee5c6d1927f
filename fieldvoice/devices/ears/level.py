"""How loud the sound is: the level meter, clipping, and a microphone that gives nothing."""

from __future__ import annotations

import math
from collections import deque

import numpy as np

from fieldvoice.devices.ears.block import RATE, Block, Sound

SILENCE_DB = -96.0  # what is shown of no sound at all; 16 bits go no lower
METER_S = 0.2
FULL_SCALE = 32_000  # of 32,768: resampling leaves clipped sound a little below full scale
FLAT_S = 10.0  # so long without any change: no room is so quiet


def peak_db(sound: Sound) -> float:
    """The highest sample in dB below full scale."""
    return _db(float(np.abs(sound.astype(np.int32)).max(initial=0)))


def rms_db(sound: Sound) -> float:
    """The effective level in dB below full scale."""
    return _db(math.sqrt(float(np.mean(np.square(sound, dtype=np.float64))))) if len(
        sound) else SILENCE_DB


def clipped_share(sound: Sound) -> float:
    """Which part of the samples is at full scale, 0..1."""
    return float(np.mean(np.abs(sound.astype(np.int32)) >= FULL_SCALE)) if len(sound) else 0.0


def _db(value: float) -> float:
    return max(SILENCE_DB, 20 * math.log10(value / 32_768)) if value > 0 else SILENCE_DB


class Meter:
    """Level of the last moments."""

    def __init__(self) -> None:
        self._last: deque[Block] = deque()

    def add(self, block: Block) -> None:
        """Sound that was captured."""
        self._last.append(block)
        while len(self._last) > 1 and self._last[0].end < block.end - METER_S:
            self._last.popleft()

    def peak_db(self) -> float:
        """dBFS."""
        return max((peak_db(block.samples) for block in tuple(self._last)), default=SILENCE_DB)

    def rms_db(self) -> float:
        """dBFS."""
        return rms_db(np.concatenate([NO_SOUND, *(b.samples for b in tuple(self._last))]))

    def clipping(self) -> bool:
        """Whether any of it is at full scale."""
        return any(clipped_share(block.samples) > 0 for block in tuple(self._last))


class Flatness:
    """Notices a microphone that gives one constant value: muted, or not plugged into anything.

    Some headsets send true silence between words: each time that sound comes after all, twice as
    long a silence is needed for the next notice.
    """

    def __init__(self) -> None:
        self._flat_s = 0.0
        self._needed_s = FLAT_S
        self.flat = False

    def add(self, block: Block) -> bool | None:
        """True when it has become flat, False when sound is back, None when nothing changed."""
        if len(block.samples) and int(block.samples.max()) == int(block.samples.min()):
            self._flat_s += len(block.samples) / RATE
            if not self.flat and self._flat_s >= self._needed_s:
                self.flat = True
                return True
            return None
        self._flat_s = 0.0
        if self.flat:
            self.flat = False
            self._needed_s *= 2
            return False
        return None


NO_SOUND: Sound = np.zeros(0, dtype=np.int16)
