"""Two utterances with a pause between them: one line, or one after another."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from fieldvoice.devices.joined import joined
from fieldvoice.devices.recognizer import RATE, Recognizer, Utterance

Sound = NDArray[np.int16]
OneLine = Callable[[str, str], bool]
LONGEST_S = 10.0  # of sound that is heard again; who says more does not pause for a second half


class LineEnd(Protocol):
    """What may become of words."""

    @property
    def silence_s(self) -> float:
        """How long a silence ends them, in seconds."""

    @property
    def is_line(self) -> bool:
        """Whether they are a sentence."""

    @property
    def may_go_on(self) -> bool:
        """Whether what follows after a pause may belong to them."""


@dataclass(frozen=True)
class Part:
    """What was heard until a silence."""

    utterance: Utterance
    before: str  # its words as they were heard before they had to be a sentence
    is_line: bool  # and not half of one that the engine could not leave so
    sound: Sound
    end: int  # of its sound, in samples of the stream

    @property
    def words(self) -> str:
        """As a sentence."""
        return self.utterance.words


class TwoParts:
    """Says what two parts of a stream are; hears them again where the words do not tell."""

    def __init__(
        self, engine: Recognizer, line_end: Callable[[str], LineEnd], one_line: OneLine
    ) -> None:
        self._engine, self._line_end, self._one_line = engine, line_end, one_line

    def settled(self, first: Part, second: Part, clear: bool) -> tuple[Part, ...]:
        """One part or two; the engine must have ended both.

        `clear`: no noise covers weak words, so that what seemed to be a pause was one.
        """
        if clear and first.is_line and self._one_line(first.words, second.words):
            utterance = joined(first.utterance, second.utterance)
            return (self._whole(first, second, utterance),)
        if self.apart(first, second, clear):
            return first, second
        return self._heard_again(first, second)

    def apart(self, first: Part, second: Part, clear: bool) -> bool:
        """Whether the words alone tell that they are two lines."""
        if not (clear and first.is_line and self._line_end(second.words).is_line):
            return False
        return not self._one_line(first.words, second.words)

    def _heard_again(self, first: Part, second: Part) -> tuple[Part, ...]:
        """One where their sound as one fits a sentence at least as well as two by themselves."""
        sounds = first.sound, second.sound
        if sum(map(len, sounds)) > LONGEST_S * RATE:
            return first, second
        whole = self._engine.hear(np.concatenate([*sounds, _TAIL]))
        if not self._line_end(whole.words).is_line:
            return first, second
        apart = sum(self._engine.hear(sound).score for sound in sounds)
        return (first, second) if apart > whole.score else (self._whole(first, second, whole),)

    def _whole(self, first: Part, second: Part, utterance: Utterance) -> Part:
        is_line = self._line_end(utterance.words).is_line
        sound = np.concatenate([first.sound, second.sound])
        return Part(utterance, utterance.words, is_line, sound, second.end)


_TAIL = np.zeros(RATE // 4, dtype=np.int16)  # as a recognizer adds to each of two sounds
