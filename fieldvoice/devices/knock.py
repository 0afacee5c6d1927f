"""Tell a knock from a word by its sound: a blow is at its loudest at once and dies away."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

RATE = 16_000
WINDOW_S, HOP_S = 0.010, 0.005  # of the level over time
FAR_BELOW = 0.25  # of the loudest level: 12 dB down
# Measured on 160 spoken words by themselves, clean and beside machines, and on 60 made-up knocks:
# every knock rose and fell within these, of the words only "confirm" and "complete" of one voice.
RISE_S, FALL_S = 0.015, 0.100


def is_knock(sound: NDArray[np.int16]) -> bool:
    """Whether the loudest part of a sound (16 kHz mono) comes and goes like a blow."""
    level = _level(sound)
    if not len(level):
        return False
    peak = int(level.argmax())
    low = level < FAR_BELOW * level[peak]
    before, after = np.flatnonzero(low[:peak]), np.flatnonzero(low[peak:])
    rise = peak - (before[-1] if len(before) else 0)
    fall = after[0] if len(after) else len(level) - peak
    return bool(rise * HOP_S <= RISE_S + 1e-9 and fall * HOP_S <= FALL_S + 1e-9)


def _level(sound: NDArray[np.int16]) -> NDArray[np.float64]:
    """Root mean square of each 10 ms, every 5 ms."""
    window, hop = int(WINDOW_S * RATE), int(HOP_S * RATE)
    if len(sound) < window:
        return np.zeros(0)
    squares = np.square(sound.astype(np.float64))
    sums = np.concatenate([[0.0], np.cumsum(squares)])
    starts = np.arange(0, len(sound) - window + 1, hop)
    level: NDArray[np.float64] = np.sqrt((sums[starts + window] - sums[starts]) / window)
    return level
