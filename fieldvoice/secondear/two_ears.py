"""A recognizer whose lines a second network weighs again: it hears with the first one alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldvoice.devices.recognizer import Recognizer, Utterance, Way
from fieldvoice.secondear.network_file import FILE
from fieldvoice.secondear.second_ear import SecondEar


class TwoEars(Recognizer):
    """Stands before another recognizer. Lines that are fed are weighed once their sound is known.
    """

    def __init__(self, first: Recognizer, second: SecondEar) -> None:
        self._first, self._second = first, second

    def hear(self, pcm: NDArray[np.int16]) -> Utterance:
        """The whole of a sound as one utterance."""
        return self.weighed(self._first.hear(pcm), pcm)

    def weighed(self, utterance: Utterance, sound: NDArray[np.int16]) -> Utterance:
        """What both make of an utterance; where its words change, nothing tells their times."""
        ways = [(way.words, way.share) for way in utterance.ways]
        opinion = self._second.weighed(ways, sound)
        both = tuple(Way(*way) for way in opinion.ways)
        if not both:
            return utterance
        words = both[0].words
        parts = utterance.parts if words == utterance.words else ()
        least = min(beliefs(opinion.ways), default=0.0)
        return replace(utterance, words=words, confidence=least, parts=parts, ways=both,
                       unlike=opinion.unlike)  # fmt: skip

    def feed(self, chunk: NDArray[np.int16]) -> Utterance | None:
        """Hear on; an utterance once a silence has ended one that holds any word or [unk]."""
        return self._first.feed(chunk)

    def hearing(self) -> str:
        """The words of the utterance that has not ended yet; may still change."""
        return self._first.hearing()

    def open_s(self) -> float:
        """How many seconds of the newest sound belong to what has not been passed on yet."""
        return self._first.open_s()

    def finish(self) -> Utterance | None:
        """End the utterance that is open, as at the end of a file; None when there is no more."""
        return self._first.finish()

    def forget(self) -> None:
        """Drop what was heard of the open utterance."""
        self._first.forget()


def with_second_ear(first: Recognizer, model: Path) -> Recognizer:
    """Before a recognizer the second network of its model; another model may have none."""
    return TwoEars(first, SecondEar(model)) if (model / FILE).is_file() else first


def beliefs(ways: Sequence[tuple[str, float]]) -> tuple[float, ...]:
    """Belief in each word of the likeliest way: of all ways that have it."""
    return tuple(min(1.0, sum(share for words, share in ways if word in words.split()))
                 for word in ways[0][0].split())
