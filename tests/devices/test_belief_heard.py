"""Real decoded sound: what spoils it makes the same words less sure."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from fieldvoice.commands.wiring.hearing.loudness import clarity
from fieldvoice.commands.wiring.recorded_jobs import read_job, shipped_jobs
from fieldvoice.devices.ears import Sound, clipped_share
from fieldvoice.devices.soundfile import read_sound
from fieldvoice.devices.vosk_recognizer import OWN_MODEL, VoskRecognizer
from fieldvoice.dialogue.belief.clarity import QUIET_DB
from fieldvoice.dialogue.confidence import ACCEPT_FROM, Interpretation
from fieldvoice.language import intents as i
from fieldvoice.language.parser import understand
from fieldvoice.session import likeliest

LINE = next(
    line for folder in shipped_jobs() for line in read_job(folder).lines
    if line.sound is not None and isinstance(understand(line.text), i.Reading)
    and clarity(read_sound(line.sound)).above_noise_db > QUIET_DB
)  # fmt: skip


@cache
def recognizer() -> VoskRecognizer:
    return VoskRecognizer(OWN_MODEL)


def heard(sound: Sound) -> Interpretation:
    ways = [(way.words, way.share) for way in recognizer().hear(sound).ways]
    return likeliest(ways or [("", 1.0)], lambda intent: False, clarity(sound))


@cache
def recorded() -> Sound:
    assert LINE.sound is not None
    return read_sound(LINE.sound)


def overdriven(decibels: float) -> Sound:
    loudest = int(np.abs(recorded().astype(np.int32)).max())
    louder = recorded().astype(np.float64) * 32_767 / loudest * 10 ** (decibels / 20)
    return np.clip(louder, -32_767, 32_767).round().astype(np.int16)


def test_a_recorded_reading_in_a_quiet_place_is_believed() -> None:
    found = heard(recorded())
    assert found.intent == understand(LINE.text)
    assert found.confidence >= ACCEPT_FROM


@pytest.mark.parametrize("decibels", [12.0, 18.0])
def test_the_same_cut_off_at_full_scale_is_not(decibels: float) -> None:
    sound = overdriven(decibels)
    assert clipped_share(sound) > 0.01
    assert heard(sound).confidence < min(ACCEPT_FROM, heard(recorded()).confidence)


def test_what_fits_the_sound_badly_is_less_clear_and_even_where_there_is_no_sound() -> None:
    assert clarity(recorded(), unlike=0.7) == replace(clarity(recorded()), unlike=0.7)
    assert clarity(recorded()[:0], unlike=0.7).unlike == 0.7


def test_the_same_in_loud_noise_is_less_sure() -> None:
    noise = np.random.default_rng(5).standard_normal(len(recorded()))
    loud = np.sqrt(np.mean(np.square(recorded().astype(np.float64))))
    noisy = np.clip(recorded() + noise * loud, -32_767, 32_767).round().astype(np.int16)
    assert clarity(noisy).above_noise_db < 15
    assert heard(noisy).confidence < heard(recorded()).confidence
