"""A recognizer without an engine, for tests: its words are the values of the samples."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fieldvoice.devices.recognizer import Recognizer, Utterance, Way

CONFIDENCE = 0.9


class FakeRecognizer(Recognizer):
    """Hears the first sample of each chunk as a word; a chunk of zeros ends the utterance."""

    def __init__(self) -> None:
        self.open: list[str] = []

    def hear(self, pcm: NDArray[np.int16]) -> Utterance:
        """Runs of one value are one word; zeros are silence."""
        changes = np.flatnonzero(np.diff(pcm, prepend=0))
        return _utterance([str(pcm[at]) for at in changes if pcm[at]])

    def feed(self, chunk: NDArray[np.int16]) -> Utterance | None:
        """Hear a chunk."""
        if chunk[0]:
            self.open.append(str(chunk[0]))
            return None
        return self.finish()

    def hearing(self) -> str:
        """What is open."""
        return " ".join(self.open)

    def finish(self) -> Utterance | None:
        """End what is open."""
        words, self.open = self.open, []
        return _utterance(words) if words else None

    def forget(self) -> None:
        """Drop what is open."""
        self.open = []


def _utterance(words: list[str]) -> Utterance:
    if not words:
        return Utterance("", 0.0)
    return Utterance(" ".join(words), CONFIDENCE, (), (Way(" ".join(words), 1.0),))


_CHECKED: Recognizer = FakeRecognizer()  # so that the type checker misses no method
