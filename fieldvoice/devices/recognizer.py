"""What a recognizer offers: sound in, utterances with their words and shares out; no engine."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from fieldvoice.errors import FieldvoiceError

RATE = 16_000
CHUNK = 4_000  # samples that are heard at once; a quarter of a second
UNKNOWN = "[unk]"  # what stands for sound that is no word of the grammar


class ModelError(FieldvoiceError):
    """The folder is not a speech model that can be used; the message says why and what to do."""


@dataclass(frozen=True)
class Word:
    """One word heard."""

    text: str
    start: float  # seconds; no time of day, nor from the begin of anything, but tells which words
    end: float  # of an utterance lie in the same place, and how far apart
    confidence: float  # 0..1: the shares of all ways that have this word at this place


@dataclass(frozen=True)
class Way:
    """One way in which a sound can be heard."""

    words: str  # lower case, with [unk] where no word fits
    share: float  # of the belief in all ways; they add to 1


@dataclass(frozen=True)
class Utterance:
    """What was heard between two silences."""

    words: str  # the likeliest way; empty when nothing but [unk] was heard
    confidence: float  # of the least certain word, 0..1; 0 without words
    parts: tuple[Word, ...] = ()
    ways: tuple[Way, ...] = ()  # likeliest first; none without words
    score: float = 0.0  # the higher, the better it fits; to be compared for the same sound only
    unlike: float = 0.0  # how much likelier, a phone, any sounds are than the words; a logarithm


class Recognizer(Protocol):
    """Hears 16 kHz mono int16 samples: a sound as a whole, or piece by piece as it comes."""

    def hear(self, pcm: NDArray[np.int16]) -> Utterance:
        """The whole of a sound as one utterance."""
        ...

    def weighed(self, utterance: Utterance, sound: NDArray[np.int16]) -> Utterance:
        """An utterance that was fed, with the shares of its ways as all of its sound tells them."""
        return utterance

    def feed(self, chunk: NDArray[np.int16]) -> Utterance | None:
        """Hear on; an utterance once a silence has ended one that holds any word or [unk]."""
        ...

    def hearing(self) -> str:
        """The words of the utterance that has not ended yet; may still change."""
        ...

    def open_s(self) -> float:
        """How many seconds of the newest sound belong to what has not been passed on yet."""
        return 0.0

    def finish(self) -> Utterance | None:
        """End the utterance that is open, as at the end of a file; None when there is no more."""
        ...

    def forget(self) -> None:
        """Drop what was heard of the open utterance."""
        ...

    def hear_lines(self, pcm: NDArray[np.int16], chunk: int = CHUNK) -> list[Utterance]:
        """The utterances of a sound, cut at its silences as on the job."""
        return [utterance for utterance, _ in self.hear_ends(pcm, chunk)]

    def hear_ends(
        self, pcm: NDArray[np.int16], chunk: int = CHUNK
    ) -> Iterator[tuple[Utterance, int]]:
        """The same, each with how many samples had been heard when it ended."""
        self.forget()
        for at in range(0, len(pcm), chunk):
            if found := self.feed(pcm[at : at + chunk]):
                yield found, min(at + chunk, len(pcm))
        while last := self.finish():
            yield last, len(pcm)
