"""The microphone, line by line, with what is typed beside it."""

from __future__ import annotations

import queue
import sys
import threading
from typing import TYPE_CHECKING

import numpy as np

from fieldvoice.commands.wiring.voices.prompting import Taken
from fieldvoice.devices.ears import Microphone
from fieldvoice.devices.ears.capture import MicrophoneError
from fieldvoice.devices.recognizer import CHUNK, Recognizer

if TYPE_CHECKING:
    from fieldvoice.devices.ears.block import Sound
    from fieldvoice.devices.ears.played import ReadFile

NOTHING_S = 4.0  # without any sound, not even silence: there will be none
_LONGEST = 20 * 16_000  # samples without an end of a line


class MicrophoneEar:
    """Cuts the microphone's sound at the ends of lines, as the recognizer hears them."""

    def __init__(
        self, recognizer: Recognizer, wanted: str | None, read: ReadFile | None = None
    ) -> None:
        self._recognizer = recognizer
        self._troubles: list[str] = []
        self._microphone = Microphone(self._troubles.append, wanted, read)
        self._typed: queue.SimpleQueue[str] = queue.SimpleQueue()
        self._left: Sound = np.zeros(0, np.int16)

    def __enter__(self) -> MicrophoneEar:
        for work in (lambda: self._microphone.keep(lambda: True), self._read_keys):
            threading.Thread(target=work, name="learn-voice", daemon=True).start()
        return self

    def __exit__(self, *_: object) -> None:
        self._microphone.close()

    def line(self) -> Taken:
        """The sound of the next line. Raises MicrophoneError where none comes."""
        self._recognizer.forget()
        self._drop_what_waits()
        heard: list[Sound] = []
        waiting, fed = self._left, 0
        while True:
            if (typed := self._next_typed()) is not None:
                return Taken(typed=typed)
            block = self._microphone.block(NOTHING_S)
            if block is None:
                if self._microphone.ended and self._recognizer.finish():
                    return Taken(np.concatenate([*heard, waiting]))
                raise MicrophoneError(self._why())
            waiting = np.concatenate([waiting, block.samples])
            while len(waiting) >= CHUNK:
                chunk, waiting = waiting[:CHUNK], waiting[CHUNK:]
                heard.append(chunk)
                fed += CHUNK
                if self._recognizer.feed(chunk) or fed > _LONGEST:
                    self._left = waiting if self._microphone.played else waiting[:0]
                    return Taken(np.concatenate(heard))

    def _why(self) -> str:
        if self._microphone.ended:
            return "the sound that was given as the microphone has ended"
        return self._troubles[-1] if self._troubles else "the microphone gives nothing at all"

    def _drop_what_waits(self) -> None:
        """What was said before the line was shown is not the line; a file waits for nobody."""
        while not self._microphone.played and self._microphone.block(0) is not None:
            pass

    def _next_typed(self) -> str | None:
        try:
            return self._typed.get_nowait()
        except queue.Empty:
            return None

    def _read_keys(self) -> None:
        for text in sys.stdin:
            self._typed.put(text)

