"""The voice that answers: synthesized by espeak-ng through pyttsx3, played through miniaudio."""

from __future__ import annotations

import ctypes
import os
import queue
import tempfile
import threading
import time
import wave
from collections.abc import Callable, Generator
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fieldvoice.errors import FieldvoiceError

TAIL_S = 0.3  # the room still sounds, and the microphone still hears, for about this long
VOICE = "gmw/en-us"
RATES = (110, 130, 150, 175, 205, 240)  # words a minute, slowest to fastest
GAINS_DB = (-18.0, -12.0, -6.0, 0.0, 6.0, 12.0)
LONGEST_SYNTHESIS_S = 10.0
_USUAL_RATE, _USUAL_GAIN = 2, 3

Play = Callable[[NDArray[np.int16], int], None]  # samples and their rate; returns when played


class SpeakerError(FieldvoiceError):
    """Nothing can be said aloud; the message says why and what happens instead."""


class Speaker:
    """Says texts one after the other in a thread of its own.

    `trouble` is called once with a message when saying fails, and again only after it has worked.
    """

    def __init__(self, trouble: Callable[[str], None], play: Play | None = None) -> None:
        self._trouble = trouble
        self._play = play or play_aloud
        self._rate, self._gain, self._quiet = _USUAL_RATE, _USUAL_GAIN, False
        self._failing = False
        self._texts: queue.Queue[str | None] = queue.Queue()
        self._until = 0.0  # steady time up to which the microphone must be deaf
        threading.Thread(target=self._work, name="speaker", daemon=True).start()

    def say(self, text: str) -> None:
        """Say a text after those before it; returns at once."""
        if text and not self._quiet:
            self._texts.put(text)

    def change(self, change: str) -> None:
        """louder, softer, slower, faster, quiet (screen only) or aloud. Raises ValueError."""
        if change in {"quiet", "aloud"}:
            self._quiet = change == "quiet"
        elif change in {"louder", "softer"}:
            step = 1 if change == "louder" else -1
            self._gain = min(max(self._gain + step, 0), len(GAINS_DB) - 1)
        elif change in {"faster", "slower"}:
            step = 1 if change == "faster" else -1
            self._rate = min(max(self._rate + step, 0), len(RATES) - 1)
        else:
            raise ValueError(f"a voice cannot be made {change!r}")

    def speaking(self) -> bool:
        """Whether something is, was just or will be said: the microphone must be deaf."""
        return self._texts.unfinished_tasks > 0 or time.monotonic() < self._until

    def wait(self) -> None:
        """Return when all has been said."""
        self._texts.join()

    def close(self) -> None:
        """Finish what is being said and stop."""
        self._texts.put(None)
        self._texts.join()

    def _work(self) -> None:
        while True:
            text = self._texts.get()
            if text is not None:
                self._say_now(text)
            self._until = time.monotonic() + TAIL_S
            self._texts.task_done()
            if text is None:
                return

    def _say_now(self, text: str) -> None:
        try:
            samples, rate = synthesize(text, RATES[self._rate])
            self._play(amplified(samples, GAINS_DB[self._gain]), rate)
            self._failing = False
        except SpeakerError as error:
            if not self._failing:
                self._trouble(str(error))
            self._failing = True


def amplified(samples: NDArray[np.int16], gain_db: float) -> NDArray[np.int16]:
    """Louder or softer; peaks are rounded off rather than clipped."""
    if gain_db == 0:
        return samples
    scaled = samples / 32768.0 * 10 ** (gain_db / 20)
    rounded = np.tanh(scaled) if gain_db > 0 else scaled
    return np.rint(rounded * 32767).astype(np.int16)


def synthesize(text: str, words_a_minute: int) -> tuple[NDArray[np.int16], int]:
    """Speech as mono samples and their rate in Hz. Raises SpeakerError."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "said.wav"
        try:
            # A fresh engine each time: one that is used again forgets a changed rate.
            engine = _engine(words_a_minute)
            engine.save_to_file(text, str(path))
            finished = threading.Event()
            engine.connect("finished-utterance", lambda name, completed: finished.set())
            engine.runAndWait()
            finished.wait(LONGEST_SYNTHESIS_S)  # runAndWait alone may return before the end
            with wave.open(str(path), "rb") as found:
                samples = np.frombuffer(found.readframes(found.getnframes()), dtype="<i2")
                return samples.astype(np.int16), found.getframerate()
        except (ImportError, OSError, RuntimeError, ValueError, EOFError, wave.Error) as error:
            raise SpeakerError(f"no voice: {error}; replies are on the screen only") from None


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


def play_aloud(samples: NDArray[np.int16], rate: int) -> None:
    """Play mono samples and return when they have sounded. Raises SpeakerError."""
    import miniaudio

    if not has_loudspeaker():
        raise SpeakerError("no loudspeaker found; replies are on the screen only")
    done = threading.Event()
    try:
        with miniaudio.PlaybackDevice(
            nchannels=1, sample_rate=rate, buffersize_msec=100, app_name="fieldvoice"
        ) as device:
            source = _source(samples, done)
            next(source)
            device.start(source)
            played = done.wait(len(samples) / rate + 3.0)
            time.sleep(0.2)  # what is in the device's buffers still has to sound
    except miniaudio.MiniaudioError as error:
        raise SpeakerError(f"the loudspeaker failed ({error}); replies are on the screen") from None
    if not played:
        raise SpeakerError("the loudspeaker stopped taking sound; replies are on the screen")


def _source(
    samples: NDArray[np.int16], done: threading.Event
) -> Generator[NDArray[np.int16], int, None]:
    frames = yield samples[:0]
    while True:
        part, samples = samples[:frames], samples[frames:]
        if not len(part):
            done.set()
        frames = yield np.pad(part, (0, frames - len(part)))


def has_loudspeaker() -> bool:
    """Whether the system has any device that sounds; ALSA's 'null', which swallows all, is none."""
    import miniaudio

    try:
        found = miniaudio.Devices(
            [b for b in miniaudio.Backend if b.name != "NULL"]
        ).get_playbacks()
    except miniaudio.MiniaudioError:
        return False
    return any(bytes(miniaudio.ffi.buffer(d["id"]))[:5] != b"null\0" for d in found)
