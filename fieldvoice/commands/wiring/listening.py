"""What arrives at a job at work: typed lines and spoken ones, in one queue."""

from __future__ import annotations

import queue
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fieldvoice.commands.wiring.hearing.watch import Beat, Watch
from fieldvoice.dialogue.belief.clarity import CLEAR, Clarity
from fieldvoice.dialogue.turn import Loudness


@dataclass(frozen=True)
class Line:
    """A line that came in."""

    words: str
    source: str  # "typed" or "voice"
    confidence: float | None = None
    sound: NDArray[np.int16] | None = None
    ways: tuple[tuple[str, float], ...] = ()  # all wordings it can be heard as, with their shares
    clipped: bool = False  # too loud for the microphone: numbers in it are not to be trusted
    loudness: Loudness | None = None  # of a spoken one
    clarity: Clarity = CLEAR  # how far the words heard can be trusted
    ended: float | None = None  # of a spoken one: time.monotonic() when its end was captured


@dataclass(frozen=True)
class CutShort:
    """A spoken line of which a part went unheard, so that it counts for nothing."""

    words: str  # what was heard of it
    why: str  # what is answered
    sound: NDArray[np.int16]


@dataclass(frozen=True)
class Deed:
    """A key was pressed that stands for a deed: "hush", "next", "again" or "talk"."""

    name: str


@dataclass(frozen=True)
class Ended:
    """No more lines come from this source."""

    source: str


Arrivals = queue.Queue[Line | CutShort | Deed | Ended]


def type_into(arrivals: Arrivals, lines: Iterable[str], watch: Watch) -> None:
    """Pass on typed lines in a thread of their own, until they end."""

    def pass_on(beat: Beat) -> None:
        for text in lines:
            if text.strip():
                arrivals.put(Line(text.strip(), "typed"))
        arrivals.put(Ended("typed"))

    watch.run("keys", pass_on, stall_s=None)
