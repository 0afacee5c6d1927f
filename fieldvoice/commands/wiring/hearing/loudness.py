"""Whether someone spoke at a moment: the loudness of sound in steps of 25 ms against its floor."""

from __future__ import annotations

from collections import deque

import numpy as np
from numpy.typing import NDArray

from fieldvoice.devices.ears import RATE, Sound
from fieldvoice.dialogue.turn import Loudness

STEP_S = 0.025
_STEP = int(RATE * STEP_S)
ABOVE_FLOOR_DB = 8.0  # speech stands out of the noise by more
BELOW_SPEECH_DB = 25.0  # softer than the loud parts of speech by more: breath, a room's echo
LONG_S = 0.075  # shorter is a click
REMEMBERED_S = 10.0  # for the floor

Levels = NDArray[np.float64]  # dBFS of each step


def levels(sound: Sound) -> Levels:
    """Loudness of each whole step."""
    whole = sound[: len(sound) // _STEP * _STEP].reshape(-1, _STEP).astype(np.float64)
    power = np.mean(np.square(whole / 32_768), axis=1) if len(whole) else np.zeros(0)
    return np.asarray(10 * np.log10(power + 1e-10))


def is_speech(moment: Levels, spoken: Levels, floor: Levels) -> bool:
    """Whether a moment is as loud as what was spoken, and stands out of the floor.

    `spoken`: the utterance as a whole; `floor`: sound of some time, with pauses in it.
    """
    if not len(moment) or not len(spoken):
        return False
    quiet = float(np.percentile(floor if len(floor) else spoken, 10))
    loud = float(np.percentile(spoken, 90))
    limit = max(quiet + ABOVE_FLOOR_DB, loud - BELOW_SPEECH_DB)
    return bool(np.count_nonzero(moment > limit) * STEP_S >= LONG_S)


def measured(spoken: Levels, floor: Levels, *, clipped: bool) -> Loudness | None:
    """The loudness of an utterance and of the background, as a job's log keeps it.

    As `is_speech` has them: the loud tenth of the utterance, the quiet tenth of sound of some time.
    """
    if not len(spoken):
        return None
    quiet = float(np.percentile(floor if len(floor) else spoken, 10))
    loud = float(np.percentile(spoken, 90))
    return Loudness(round(loud, 1), round(quiet, 1), clipped)


class LastLevels:
    """The loudness of the last seconds of sound."""

    def __init__(self, seconds: float = REMEMBERED_S) -> None:
        self._levels: deque[float] = deque(maxlen=round(seconds / STEP_S))

    def add(self, sound: Sound) -> None:
        """Sound that came."""
        self._levels.extend(levels(sound).tolist())

    def clear(self) -> None:
        """Forget."""
        self._levels.clear()

    def last(self, seconds: float | None = None) -> Levels:
        """The last of it; all without a length."""
        kept = np.array(tuple(self._levels))  # at once: another thread may add to it
        return kept if seconds is None else kept[max(0, len(kept) - round(seconds / STEP_S)):]
