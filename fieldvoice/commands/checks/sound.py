"""The checks that need sound: the ears and the mouth of a job joined with what judges them.

The one file of the checks that opens a microphone or a loudspeaker.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from fieldvoice.commands.checks import sound_judged as judged
from fieldvoice.commands.checks.finding import Finding
from fieldvoice.commands.checks.sound_figures import SILENCE_DB, Sound, level_db
from fieldvoice.devices.ears import Block, Microphone, SoundSystem

SENTENCE = "vacuum four hundred twelve microns"
VOICE_TEST = "This is the voice of Fieldvoice."
SETTLE_S = 0.4  # a microphone that was just opened
NOTHING_S = 4.0  # without any sound, not even silence: there will be none
QUIET_S, SENTENCE_S, ROUND_TRIP_S = 2.0, 6.0, 1.0
RATE = 16_000

Ask = Callable[[str], None]  # tells the user what to do now


def microphone(wanted: str | None) -> Finding:
    """Which microphone would be used, and why."""
    return judged.judge_microphones(SoundSystem().found(), wanted)


def loudspeaker() -> Finding:
    """Which loudspeaker would be used."""
    from fieldvoice.devices.mouth import loudspeakers

    return judged.judge_loudspeakers(loudspeakers())


class Listening:
    """What the checks of one run record; what one of them heard, the next one needs."""

    def __init__(
        self, ask: Ask, model: Path | None, microphone: str | None = None, voice: str | None = None
    ) -> None:
        """`microphone`: a part of its name; `voice`: who speaks; None: the usual one."""
        self._ask, self._model = ask, model
        self._microphone, self._voice = microphone, voice
        self._noise_db = SILENCE_DB

    def room(self) -> Finding:
        """The noise of the room. Raises MicrophoneError."""
        self._ask("Please be quiet for two seconds.")
        quiet = record(QUIET_S, self._microphone)
        self._noise_db = level_db(quiet)
        return judged.judge_room(quiet)

    def speech(self) -> Finding:
        """A sentence of the user's. Raises MicrophoneError or ModelError."""
        from fieldvoice.commands.wiring.models import load_recognizer

        recognizer = load_recognizer(self._model)
        sound = record(SENTENCE_S, self._microphone,  # who is asked too early loses a word
                       meanwhile=lambda: self._ask(f"Please say now: {SENTENCE}"))
        heard = [one for one in recognizer.hear_lines(sound) if one.words]
        words = " ".join(one.words for one in heard)
        sure = min((one.confidence for one in heard), default=0.0)
        return judged.judge_sentence(sound, words, sure, SENTENCE, self._noise_db)

    def voice(self) -> Finding:
        """Fieldvoice's own voice, heard through the microphone.

        Raises VoiceError, LoudspeakerError or MicrophoneError.
        """
        from fieldvoice.devices.mouth import RATES, VOICES, Voices
        from fieldvoice.devices.mouth.loudspeaker import RATE as VOICE_RATE
        from fieldvoice.devices.soundfile import resample, to_int16

        only = {self._voice: VOICES[self._voice]} if self._voice else VOICES
        samples = Voices(voices=only).say(VOICE_TEST, RATES[len(RATES) // 2])
        self._ask("Now Fieldvoice speaks.")
        said = to_int16(resample(samples / 32_768.0, VOICE_RATE, RATE))
        wanted_s = len(said) / RATE + 2 * ROUND_TRIP_S
        heard = record(wanted_s, self._microphone, meanwhile=lambda: play(samples))
        return judged.judge_voice_back(said, heard)


def record(
    seconds: float, wanted: str | None = None, meanwhile: Callable[[], None] | None = None
) -> Sound:
    """Sound from the microphone that would be used. Raises MicrophoneError.

    `meanwhile` runs beside it once sound comes; what it raises is raised here.
    """
    troubles: list[str] = []
    failed: list[Exception] = []
    microphone = Microphone(troubles.append, wanted)
    _beside(lambda: microphone.keep(lambda: True)).start()
    beside = _beside(meanwhile or _nothing, failed)
    try:
        begin = _next(microphone, troubles).at + SETTLE_S
        while _next(microphone, troubles).end < begin:
            pass
        beside.start()
        got = [_next(microphone, troubles)]
        while got[-1].end < begin + seconds:
            got.append(_next(microphone, troubles))
    finally:
        microphone.close()
    beside.join(timeout=seconds)
    if failed:
        raise failed[0]
    return np.concatenate([block.samples for block in got])


def _next(microphone: Microphone, troubles: list[str]) -> Block:
    from fieldvoice.devices.ears.capture import MicrophoneError

    block = microphone.block(NOTHING_S)
    if block is None:
        raise MicrophoneError(troubles[-1] if troubles else "the microphone gives nothing at all")
    return block


def play(samples: Sound) -> None:
    """Through the loudspeaker, to the end. Raises LoudspeakerError."""
    from fieldvoice.devices.mouth import DEVICE_S, Loudspeaker, LoudspeakerError

    loudspeaker = Loudspeaker()
    try:  # one left open by Ctrl-C would keep the program from ending
        loudspeaker.open(proved=True)
        loudspeaker.play(samples)
        while loudspeaker.left_s():
            if loudspeaker.lost:
                raise LoudspeakerError("the loudspeaker takes no sound")
            time.sleep(DEVICE_S / 2)
        time.sleep(DEVICE_S)
    finally:
        loudspeaker.close()


def _nothing() -> None:
    pass


def _beside(work: Callable[[], None], failed: list[Exception] | None = None) -> threading.Thread:
    """A thread that hands what fails to whoever records."""

    def run() -> None:
        try:
            work()
        except Exception as error:
            if failed is not None:
                failed.append(error)

    return threading.Thread(target=run, name="doctor", daemon=True)
