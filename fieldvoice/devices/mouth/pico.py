"""The voice of Pico, through py-nanotts: fuller than eSpeak's, easier to hear beside a machine."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fieldvoice.devices.mouth.errors import VoiceError

RATE = 16_000
VOICE = "en-US"
_USUAL_WORDS_A_MINUTE = 150.0  # at its own speed of 1, measured beside eSpeak at 150
_VOLUME = 0.5  # at its own 1 every peak is cut off
# It reads SSML: a "<" in a name would be taken for a mark of it, and a NUL for the end.
_MARKS = str.maketrans({"<": " ", ">": " ", "&": " and ", "\0": " "})


def synthesize(text: str, words_a_minute: int) -> tuple[NDArray[np.int16], int]:
    """Speech as mono samples and their rate in Hz. Raises VoiceError."""
    try:
        from py_nanotts import NanoTTS

        said = NanoTTS().speak(
            text.translate(_MARKS), voice=VOICE, volume=_VOLUME,
            speed=words_a_minute / _USUAL_WORDS_A_MINUTE,
        )  # fmt: skip
    except (ImportError, OSError, RuntimeError, ValueError) as error:
        raise VoiceError(f"the voice pico does not work: {error}") from None
    return np.frombuffer(said, dtype="<i2").astype(np.int16), RATE
