"""Prompted lines one after the other: shown, if wanted said, recorded, and kept."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from fieldvoice.commands.wiring.voices.recordings import Recordings, prompts
from fieldvoice.commands.wiring.voices.usable import trouble

TRIES = 3
AGAIN, SKIP, STOP = "again", "skip", "stop"
_KEYS = {"a": AGAIN, "again": AGAIN, "back": AGAIN, "s": SKIP, "skip": SKIP, "n": SKIP,
         "next": SKIP, "stop": STOP, "q": STOP, "quit": STOP}
HELP = f"Type {AGAIN} to say the line before once more, {SKIP} to leave one out, {STOP} to end."


@dataclass(frozen=True)
class Taken:
    """What came while a line was waited for: a sound, or what was typed."""

    sound: NDArray[np.int16] | None = None
    typed: str = ""


class Ear(Protocol):
    """Hears one line."""

    def line(self) -> Taken:
        """The sound of the next line, once it has ended; or what was typed meanwhile."""
        ...


@dataclass
class Prompting:
    """Asks for every line that is missing."""

    recordings: Recordings
    ear: Ear
    tell: Callable[[str], None]
    fits: Callable[[NDArray[np.int16], str], str]  # why a sound is not those words; "" where it is
    aloud: Callable[[str], None] | None = None  # says a line

    def ask_all(self) -> bool:
        """Returns whether it went on to the last line; False where it was stopped."""
        whole, waiting = prompts(), self.recordings.missing()
        place = 0
        while place < len(waiting):
            words = waiting[place]
            self.tell(f"{whole.index(words) + 1} of {len(whole)}:   {words}")
            what = self._one(words)
            if what == STOP:
                return False
            place = max(0, place - 1) if what == AGAIN else place + 1
        return True

    def _one(self, words: str) -> str:
        """Record one line; "", or what was asked for instead."""
        if self.aloud:
            self.aloud(words)
        tries = 0
        while tries < TRIES:
            taken = self.ear.line()
            if taken.sound is None:
                key = _KEYS.get(taken.typed.strip().lower())
                if key:
                    return key
                self.tell(HELP)
                continue
            why = trouble(taken.sound) or self.fits(taken.sound, words)
            if not why:
                self.recordings.keep(words, taken.sound)
                return ""
            tries += 1
            self.tell(f"   not kept: {why}" + ("; say it again" if tries < TRIES else ""))
        return SKIP
