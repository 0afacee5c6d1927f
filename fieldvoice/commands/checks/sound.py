"""The checks that need sound: the devices of today joined with what judges them.

The one file of the checks that opens a microphone or a loudspeaker.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from fieldvoice.commands.checks import sound_judged as judged
from fieldvoice.commands.checks.finding import BAD, Finding
from fieldvoice.commands.checks.sound_figures import SILENCE_DB, Sound, level_db

SENTENCE = "vacuum four hundred twelve microns"
VOICE_TEST = "This is the voice of Fieldvoice."
SETTLE_S = 0.4  # a microphone that was just opened
QUIET_S, SENTENCE_S, ROUND_TRIP_S = 2.0, 6.0, 1.0
RATE = 16_000

Ask = Callable[[str], None]  # tells the user what to do now


def microphone() -> Finding:
    """Which microphone would be used, and why."""
    from fieldvoice.devices.sound_devices import microphones

    return judged.judge_microphones(microphones())


def loudspeaker() -> Finding:
    """Which loudspeaker would be used."""
    from fieldvoice.devices.sound_devices import loudspeakers

    return judged.judge_loudspeakers(loudspeakers())


class Listening:
    """What the checks of one run record; what one of them heard, the next one needs."""

    def __init__(self, ask: Ask, model: Path | None) -> None:
        self._ask, self._model = ask, model
        self._noise_db = SILENCE_DB

    def room(self) -> Finding:
        """The noise of the room. Raises MicrophoneError."""
        self._ask("Please be quiet for two seconds.")
        quiet = record(QUIET_S)
        self._noise_db = level_db(quiet)
        return judged.judge_room(quiet)

    def speech(self) -> Finding:
        """A sentence of the user's. Raises MicrophoneError or ModelError."""
        from fieldvoice.commands.wiring.models import load_recognizer

        recognizer = load_recognizer(self._model)
        self._ask(f"Please say now: {SENTENCE}")
        sound = record(SENTENCE_S)
        heard = [one for one in recognizer.hear_lines(sound) if one.words]
        words = " ".join(one.words for one in heard)
        sure = min((one.confidence for one in heard), default=0.0)
        return judged.judge_sentence(sound, words, sure, SENTENCE, self._noise_db)

    def voice(self) -> Finding:
        """Fieldvoice's own voice, heard through the microphone. Raises Speaker- or MicrophoneError.
        """
        from fieldvoice.devices.soundfile import resample, to_int16
        from fieldvoice.devices.speaker import RATES, play_aloud, synthesize

        samples, rate = synthesize(VOICE_TEST, RATES[len(RATES) // 2])
        if not len(samples):
            return Finding("voice", BAD, "the synthesizer made no sound", "install it again")
        self._ask("Now Fieldvoice speaks.")
        said = to_int16(resample(samples / 32_768.0, rate, RATE))
        wanted_s = len(said) / RATE + 2 * ROUND_TRIP_S
        heard = record(wanted_s, meanwhile=lambda: play_aloud(samples, rate))
        return judged.judge_voice_back(said, heard)


def record(seconds: float, meanwhile: Callable[[], None] | None = None) -> Sound:
    """Sound from the microphone that would be used. Raises MicrophoneError.

    `meanwhile` runs beside it once sound comes; what it raises is raised here.
    """
    from fieldvoice.devices.microphone import Microphone

    got: list[Sound] = []
    failed: list[Exception] = []
    microphone = Microphone(lambda trouble: None)
    try:
        until, beside = time.monotonic() + SETTLE_S + seconds, _beside(meanwhile, failed)
        for chunk in microphone.chunks():
            if time.monotonic() > until - seconds:
                beside.start() if not beside.ident else None
                got.append(chunk)
            if time.monotonic() > until:
                break
    finally:
        microphone.close()
    beside.join(timeout=seconds)
    if failed:
        raise failed[0]
    return np.concatenate(got) if got else np.zeros(0, np.int16)


def _beside(meanwhile: Callable[[], None] | None, failed: list[Exception]) -> threading.Thread:
    def run() -> None:
        try:
            if meanwhile is not None:
                meanwhile()
        except Exception as error:  # handed to whoever records
            failed.append(error)

    return threading.Thread(target=run, name="doctor", daemon=True)
