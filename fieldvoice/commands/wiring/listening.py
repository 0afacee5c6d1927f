"""Ears of a job at work: typed lines and spoken ones arrive in one queue, each from its thread."""

from __future__ import annotations

import queue
import threading
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from fieldvoice.devices.microphone import Microphone
    from fieldvoice.devices.recognizer import Recognizer

RATE = 16_000
KEPT_S = 120.0  # the longest sound that is kept of one line; a note may be long
LEAD_S = 0.5  # kept before the first word


@dataclass(frozen=True)
class Line:
    """A line that came in."""

    words: str
    source: str  # "typed" or "voice"
    confidence: float | None = None
    sound: NDArray[np.int16] | None = None
    ways: tuple[tuple[str, float], ...] = ()  # all wordings it can be heard as, with their shares


@dataclass(frozen=True)
class Ended:
    """No more lines come from this source."""

    source: str


@dataclass(frozen=True)
class Deed:
    """A key that was pressed: "hush", "next", "again" or "talk"."""

    name: str


Arrivals = queue.Queue[Line | Ended | Deed]


def type_into(arrivals: Arrivals, lines: Iterable[str]) -> None:
    """Pass on typed lines in a thread of their own, until they end."""

    def pass_on() -> None:
        for text in lines:
            if text.strip():
                arrivals.put(Line(text.strip(), "typed"))
        arrivals.put(Ended("typed"))

    threading.Thread(target=pass_on, name="keys", daemon=True).start()


def listen_into(arrivals: Arrivals, microphone: Microphone, recognizer: Recognizer) -> None:
    """Pass on what is spoken in a thread of its own, until the microphone is closed."""

    def pass_on() -> None:
        for line in spoken_lines(microphone.chunks(), recognizer):
            arrivals.put(line)
        arrivals.put(Ended("voice"))

    threading.Thread(target=pass_on, name="microphone", daemon=True).start()


def spoken_lines(chunks: Iterable[NDArray[np.int16]], recognizer: Recognizer) -> Iterable[Line]:
    """Utterances with their sound, as they end."""
    kept: list[NDArray[np.int16]] = []
    for chunk in chunks:
        if not len(chunk):
            continue
        kept.append(chunk)
        utterance = recognizer.feed(chunk)
        if utterance is not None:
            sound = np.concatenate(kept)
            ways = tuple((way.words, way.share) for way in utterance.ways)
            yield Line(utterance.words, "voice", utterance.confidence, sound, ways)
            kept = []
        elif sum(map(len, kept)) > RATE * (KEPT_S if recognizer.hearing() else LEAD_S + 2.0):
            kept = kept[1:]
