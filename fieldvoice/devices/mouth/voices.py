"""Which voice speaks: the one that was asked for, else the first that works."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable, Mapping

import numpy as np
import soxr
from numpy.typing import NDArray

from fieldvoice.devices.mouth import espeak, pico
from fieldvoice.devices.mouth.errors import VoiceError
from fieldvoice.devices.mouth.level import levelled, trimmed
from fieldvoice.devices.mouth.loudspeaker import RATE

Sound = NDArray[np.int16]
Voice = Callable[[str, int], tuple[Sound, int]]  # text, words a minute -> samples, their rate

# the usual one first
VOICES: Mapping[str, Voice] = {"espeak": espeak.synthesize, "pico": pico.synthesize}
GIVEN_UP_S = 10.0
_UNSPOKEN = dict.fromkeys(range(32), " ")  # a NUL would end the text


class Voices:
    """Says texts with the first voice that can; one that hangs is not tried again."""

    def __init__(
        self, wanted: str | None = None, voices: Mapping[str, Voice] = VOICES,
        given_up_s: float = GIVEN_UP_S,
    ) -> None:
        """`wanted`: one of `voices`. Raises VoiceError when there is none of that name."""
        if wanted is not None and wanted not in voices:
            raise VoiceError(f"no voice is called {wanted!r}: there are {', '.join(voices)}")
        first = [wanted] if wanted else []
        self._voices = {name: voices[name] for name in dict.fromkeys([*first, *voices])}
        self._given_up_s = given_up_s

    def say(self, text: str, words_a_minute: int) -> Sound:
        """Samples at RATE, all equally loud, without silence at the ends. Raises VoiceError."""
        text = text.translate(_UNSPOKEN)
        why: list[str] = []
        for name, voice in list(self._voices.items()):
            try:
                sound, rate = self._in_time(name, voice, text, words_a_minute)
            except VoiceError as error:
                why.append(str(error))
            else:
                return fit(sound, rate)
        raise VoiceError("; ".join(why) or "no voice is left that works")

    def _in_time(
        self, name: str, voice: Voice, text: str, words_a_minute: int
    ) -> tuple[Sound, int]:
        """What a voice makes of a text; its thread is left behind when it takes too long."""
        made: queue.Queue[tuple[Sound, int] | Exception] = queue.Queue()

        def work() -> None:
            try:
                made.put(voice(text, words_a_minute))
            except Exception as error:  # whatever a synthesizer does, the mouth goes on
                made.put(error)

        threading.Thread(target=work, name=f"voice {name}", daemon=True).start()
        try:
            found = made.get(timeout=self._given_up_s)
        except queue.Empty:
            del self._voices[name]
            raise VoiceError(f"the voice {name} stopped answering") from None
        if isinstance(found, VoiceError):
            raise found
        if isinstance(found, Exception):
            raise VoiceError(f"the voice {name} failed: {found!r}")
        return found


def fit(sound: Sound, rate: int) -> Sound:
    """Samples of a voice as the loudspeaker takes them."""
    sound = levelled(trimmed(sound, rate), rate)
    if rate == RATE:
        return sound
    return np.asarray(soxr.resample(sound, rate, RATE), dtype=np.int16)
