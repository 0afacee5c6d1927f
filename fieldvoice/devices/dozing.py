"""A recognizer that rests while nothing stirs: most of a job nobody speaks.

Decoding silence costs as much as decoding speech. What stands a little above the noise of the
place, be it in its lows (a voice beside a hiss) or in its highs (beside a hum), wakes the engine,
which then hears what came just before as well.
"""

from __future__ import annotations

from collections import deque

import numpy as np
from numpy.typing import NDArray

from fieldvoice.devices.frames import Frames, levels
from fieldvoice.devices.noise_floor import NoiseFloor
from fieldvoice.devices.recognizer import RATE, Recognizer, Utterance

FRAME = RATE // 10  # samples; 100 ms, as a syllable lasts
# Above the floor. Machines vary by up to 2.6 dB in such frames; the loudest one of any line, of one
# short word too, stood 8.3 dB above a machine that was 5 dB below the speech (measured).
STIRS_DB = 3.0
STILL_S = 2.5  # after so long the engine has ended by itself whatever there was
LEAD_S = 1.0  # of the sound before it stirred: the beginning of a word may be weaker

Sound = NDArray[np.int16]


class Dozing(Recognizer):
    """Hears with another recognizer, as if it heard all of the stream."""

    def __init__(self, engine: Recognizer) -> None:
        self._engine = engine
        self._floors = NoiseFloor(FRAME), NoiseFloor(FRAME)  # of the sound, and of its change
        self._frames = Frames(FRAME)
        self._still = 0  # frames
        self.dozes = False
        self._unheard = deque[Sound]()

    def hear(self, pcm: Sound) -> Utterance:
        """The whole of a sound as one utterance."""
        self._wake()
        return self._engine.hear(pcm)

    def feed(self, chunk: Sound) -> Utterance | None:
        """Hear on; an utterance once a silence has ended one that holds any word or [unk]."""
        self._listen(chunk)
        still = self._still * FRAME >= STILL_S * RATE
        if still and not self.dozes and not self._engine.hearing():
            self._engine.forget()
            self.dozes = True
        if self.dozes and still:
            self._keep(chunk)
            return None
        return self._engine.feed(np.concatenate([*self._wake(), chunk]))

    def hearing(self) -> str:
        """The words of the utterance that has not ended yet; may still change."""
        return "" if self.dozes else self._engine.hearing()

    def finish(self) -> Utterance | None:
        """End the utterance that is open, as at the end of a file; call again for one more."""
        return None if self.dozes else self._engine.finish()

    def forget(self) -> None:
        """Drop what was heard of the open utterance."""
        self._wake()
        self._engine.forget()

    def _wake(self) -> tuple[Sound, ...]:
        """What was not heard while it dozed."""
        unheard = tuple(self._unheard)
        self._unheard.clear()
        self.dozes = False
        return unheard

    def _keep(self, chunk: Sound) -> None:
        self._unheard.append(chunk)
        while sum(map(len, self._unheard)) - len(self._unheard[0]) >= LEAD_S * RATE:
            self._unheard.popleft()

    def _listen(self, chunk: Sound) -> None:
        """Follow how long nothing has stirred."""
        heard = self._frames.with_next(chunk)
        for both in zip(levels(heard[1:], FRAME), levels(np.diff(heard), FRAME), strict=True):
            over = [at - floor.with_next(at) for at, floor in zip(both, self._floors, strict=True)]
            self._still = 0 if max(over) > STIRS_DB else self._still + 1
