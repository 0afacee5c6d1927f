"""How long a stream of sound has been quiet: its loudness against the noise of the place."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fieldvoice.devices.frames import Frames, levels
from fieldvoice.devices.noise_floor import NoiseFloor
from fieldvoice.devices.recognizer import RATE

FRAME = RATE // 50  # samples; 20 ms
OVER_FLOOR_DB = 6.0  # louder than this above the floor is no silence; frames of noise vary by 3 dB
SPEECH_DB = 10.0  # frames this far above the floor may be speech
BELOW_SPEECH_DB = 30.0  # what is so far below the loudest of the line is its echo in the room
HIDDEN_S = 0.2  # of a weak word's end that noise covers
CLEAR_DB = 30.0  # speech so far above the noise shows to its end
SPEECH_FRAMES = 4  # the shortest word is longer
WEAK_FRAMES = 8  # one after another that are no silence; noise alone is not so steady
PAUSE_FRAMES = 10  # of a pause; stops within words are shorter
REST_FRAMES = 20  # after so long nobody speaks on any more


class Quiet:
    """Follows a stream from `begin()`, the end of the line before, on."""

    def __init__(self) -> None:
        self._noise = NoiseFloor(FRAME)
        self._frames = Frames(FRAME)
        self._floor = 0.0
        self.begin()

    def begin(self) -> None:
        """A new line: nothing of it was spoken yet."""
        self._loudest = -np.inf
        self._spoken = 0  # frames
        self._quiet = 0  # frames since the last loud one
        self._loud = 0  # frames one after another
        self._paused = False  # after speech
        self._spoke_on = 0  # frames since speech came again after a pause

    def hear(self, chunk: NDArray[np.int16]) -> None:
        """Follow on."""
        change = np.diff(self._frames.with_next(chunk))  # machines hum, words hiss
        for level in levels(change, FRAME):
            self._frame(level)

    @property
    def spoke(self) -> bool:
        """Whether anything as loud as speech, and as long as a word, was heard of this line."""
        return self._spoken >= SPEECH_FRAMES

    @property
    def seconds(self) -> float:
        """How long it has been quiet."""
        hidden = 0.0 if self.clear else HIDDEN_S
        return max(0.0, self._quiet * FRAME / RATE - hidden)

    @property
    def clear(self) -> bool:
        """Whether the noise of the place covers nothing of what was said."""
        return self._loudest - self._floor >= CLEAR_DB

    @property
    def spoke_on_s(self) -> float:
        """How long ago someone spoke on after a pause in the line; 0 where nobody did."""
        return self._spoke_on * FRAME / RATE

    def _frame(self, level: float) -> None:
        self._floor = floor = self._noise.with_next(level)
        self._loudest = max(self._loudest, level)
        speech = level > floor + SPEECH_DB
        self._spoken += speech
        self._spoke_on += self._spoke_on > 0 or (self._paused and speech)
        if level > max(floor + OVER_FLOOR_DB, self._loudest - BELOW_SPEECH_DB):
            self._quiet = 0
            self._loud += 1
            if self._loud == WEAK_FRAMES:
                self._spoken += SPEECH_FRAMES
        else:
            self._loud = 0
            self._quiet += 1
            self._paused |= self._quiet >= PAUSE_FRAMES and self.spoke
            if self._quiet >= REST_FRAMES:
                self._spoke_on = 0
