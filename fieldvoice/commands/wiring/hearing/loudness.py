"""Whether someone spoke at a moment: the loudness of sound in steps of 25 ms against its floor."""

from __future__ import annotations

from collections import deque
from dataclasses import replace

import numpy as np

from fieldvoice.devices.ears import Sound
from fieldvoice.devices.ears.levels import (
    NO_LEVELS,
    STEP_S,
    Levels,
    above_noise,
    levels,
    loud_and_quiet,
)
from fieldvoice.dialogue.belief.clarity import CLEAR, Clarity
from fieldvoice.dialogue.turn import Loudness

ABOVE_FLOOR_DB = 8.0  # speech stands out of the noise by more
BELOW_SPEECH_DB = 25.0  # softer than the loud parts of speech by more: breath, a room's echo
LONG_S = 0.075  # shorter is a click
REMEMBERED_S = 10.0  # for the floor


def is_speech(moment: Levels, spoken: Levels, floor: Levels) -> bool:
    """Whether a moment is as loud as what was spoken, and stands out of the floor.

    `spoken`: the utterance as a whole; `floor`: sound of some time, with pauses in it.
    """
    if not len(moment) or not len(spoken):
        return False
    loud, quiet = loud_and_quiet(spoken, floor)
    limit = max(quiet + ABOVE_FLOOR_DB, loud - BELOW_SPEECH_DB)
    return bool(np.count_nonzero(moment > limit) * STEP_S >= LONG_S)


def measured(spoken: Levels, floor: Levels, *, clipped: bool) -> Loudness | None:
    """The loudness of an utterance and of the background, as a job's log keeps it.

    As `is_speech` has them: the loud tenth of the utterance, the quiet tenth of sound of some time.
    """
    if not len(spoken):
        return None
    loud, quiet = loud_and_quiet(spoken, floor)
    return Loudness(round(loud, 1), round(quiet, 1), clipped)


def clarity(sound: Sound, floor: Levels = NO_LEVELS, *, unlike: float = 0.0) -> Clarity:
    """How far the words of an utterance can be trusted.

    `floor`: sound of some time around it; `unlike`: how badly they fit, as `Utterance` has it.
    """
    found = above_noise(sound, floor)
    return replace(CLEAR, unlike=unlike) if found is None else Clarity(*found, unlike)


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
