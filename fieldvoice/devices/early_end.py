"""A recognizer that knows the end of a line early: by the silence after it and by its words.

An engine decodes in steps and sees a little ahead, so it tells the last word late and its own end
of a line later still. Here a silence makes it decode all that there is; its words say how long the
silence has to be. Until then they are held, and if someone speaks on, the engine hears the whole
line again.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from fieldvoice.devices.quiet import Quiet
from fieldvoice.devices.recognizer import RATE, Recognizer, Utterance

LONGEST_S = 8.0  # of a line that is heard again; the engine ends longer ones
AHEAD_S = 0.3  # of the silence, repeated, that lets the engine see past the last word
OVERLAP_S = 0.15  # of the silence that the next line begins with: its first sound may be faint


class EarlyEnd(Recognizer):
    """Hears with another recognizer; `silence_s` gives the silence that ends words, in seconds."""

    def __init__(
        self, engine: Recognizer, silence_s: Callable[[str], float], first_s: float
    ) -> None:
        """`first_s`: the shortest silence that ends anything."""
        self._engine = engine
        self._silence_s = silence_s
        self._first_s = first_s
        self._quiet = Quiet()
        self._ended: deque[Utterance] = deque()
        self._begin()

    def hear(self, pcm: NDArray[np.int16]) -> Utterance:
        """The whole of a sound as one utterance."""
        self.forget()
        return self._engine.hear(pcm)

    def feed(self, chunk: NDArray[np.int16]) -> Utterance | None:
        """Hear on; an utterance once a silence has ended one that holds any word or [unk]."""
        self._quiet.hear(chunk)
        self._kept.append(chunk)
        if self._held is None:
            self._pass_on([chunk])
            if self._may_look():
                self._look()
        elif self._quiet.seconds < self._first_s:
            self._held = None
            self._pass_on(self._kept)  # all again
        if self._held is not None and self._quiet.seconds >= self._wait_s:
            self._end(self._held, self._last(OVERLAP_S))
        return self._ended.popleft() if self._ended else None

    def hearing(self) -> str:
        """The words of the utterance that has not ended yet; may still change."""
        return self._engine.hearing() if self._held is None else self._held.words

    def finish(self) -> Utterance | None:
        """End the utterance that is open, as at the end of a file."""
        if self._ended:
            return self._ended.popleft()
        found = self._held or self._engine.finish()
        self._begin()
        return found

    def forget(self) -> None:
        """Drop what was heard of the open utterance."""
        self._engine.forget()
        self._ended.clear()
        self._begin()

    def _begin(self) -> None:
        self._quiet.begin()
        self._kept: list[NDArray[np.int16]] = []  # the sound of the open utterance
        self._held: Utterance | None = None  # ended for the engine, not for us
        self._wait_s = 0.0
        self._looked = False  # whether this silence was too short for what was said

    def _pass_on(self, chunks: list[NDArray[np.int16]]) -> None:
        for at, chunk in enumerate(chunks):
            found = self._engine.feed(chunk)
            if found is not None:
                self._end(found)
                self._kept = chunks[at + 1 :]

    def _end(self, found: Utterance, begun: NDArray[np.int16] | None = None) -> None:
        """An utterance is at its end; `begun`: what belongs to the next one already."""
        self._ended.append(found)
        self._begin()
        if begun is not None:
            self._kept = [begun]
            self._engine.feed(begun)

    def _may_look(self) -> bool:
        """Whether the silence is new and long enough, and the line not too long to go on with."""
        quiet = self._quiet
        self._looked &= quiet.seconds >= self._first_s
        long_enough = quiet.spoke and quiet.seconds >= self._first_s
        return long_enough and not self._looked and sum(map(len, self._kept)) <= LONGEST_S * RATE

    def _look(self) -> None:
        """Let the engine decode all that came, and hold its words."""
        self._looked = True
        mirrored = self._last(AHEAD_S)[::-1]
        found = self._engine.feed(mirrored)
        words = found.words if found else self._engine.hearing()
        found = found or self._engine.finish()
        if found is None:
            self._begin()
            return
        self._held = found
        self._wait_s = max(self._silence_s(words), self._silence_s(found.words))

    def _last(self, seconds: float) -> NDArray[np.int16]:
        return np.concatenate(self._kept)[-round(seconds * RATE) :]
