"""The voice of eSpeak NG, through pyttsx3: clear, and on every system."""

from __future__ import annotations

import ctypes
import os
import tempfile
import threading
import wave
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fieldvoice.devices.mouth.errors import VoiceError

VOICE = "gmw/en-us"
LONGEST_S = 9.0


def synthesize(text: str, words_a_minute: int) -> tuple[NDArray[np.int16], int]:
    """Speech as mono samples and their rate in Hz. Raises VoiceError."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "said.wav"
        try:
            # A fresh engine each time: one that is used again forgets a changed rate.
            engine = _engine(words_a_minute)
            engine.save_to_file(text, str(path))
            finished = threading.Event()
            engine.connect("finished-utterance", lambda name, completed: finished.set())
            engine.runAndWait()
            finished.wait(LONGEST_S)  # runAndWait alone may return before the end
            with wave.open(str(path), "rb") as found:
                samples = np.frombuffer(found.readframes(found.getnframes()), dtype="<i2")
                return samples.astype(np.int16), found.getframerate()
        except (ImportError, OSError, RuntimeError, ValueError, EOFError, wave.Error) as error:
            raise VoiceError(f"the voice espeak does not work: {error}") from None


def _engine(words_a_minute: int) -> Any:
    """pyttsx3 on the synthesizer that the package brings; else on whatever the system has."""
    import pyttsx3
    from pyttsx3.engine import Engine

    try:
        _load_synthesizer()
        from pyttsx3.drivers import espeak

        # An engine that is collected late would take the callback from the one in use; and each
        # file saved would be reported on the user's screen.
        espeak.EspeakDriver.destroy = staticmethod(lambda: None)
        espeak.print = lambda *text: None
        engine = Engine("espeak")
        _set_voice(words_a_minute)
    except (ImportError, OSError, RuntimeError):
        engine = pyttsx3.init()
        engine.setProperty("rate", words_a_minute)
    return engine


def _set_voice(words_a_minute: int) -> None:
    """Set voice and rate, and wait until they are: the synthesizer takes them in its own thread.

    Set through the engine, one rate in seventy was lost to the engine's own, which came later.
    """
    from pyttsx3.drivers import _espeak

    _espeak.SetVoiceByName(VOICE.encode())
    _espeak.SetParameter(_espeak.RATE, words_a_minute, 0)
    _espeak.Synchronize()


def _load_synthesizer() -> None:
    """Load the library first, so that pyttsx3, which asks for it by name, finds this one."""
    import espeakng_loader

    os.environ["ESPEAK_DATA_PATH"] = espeakng_loader.get_data_path()
    ctypes.CDLL(espeakng_loader.get_library_path(), mode=ctypes.RTLD_GLOBAL)
