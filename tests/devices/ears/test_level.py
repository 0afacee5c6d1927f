"""The level meter, clipping and flat sound."""

import numpy as np
import pytest

from fieldvoice.devices.ears import Block, Flatness, clipped_share, peak_db, rms_db
from fieldvoice.devices.ears.level import SILENCE_DB, Meter
from support import sounds

TONE = np.rint(16_384 * np.sin(2 * np.pi * 440 * np.arange(16_000) / 16_000)).astype(np.int16)


def test_levels_are_below_full_scale() -> None:
    assert peak_db(TONE) == pytest.approx(-6.02, abs=0.01)
    assert rms_db(TONE) == pytest.approx(-9.03, abs=0.01)
    assert peak_db(sounds.silence(1)) == rms_db(sounds.silence(0)) == SILENCE_DB
    assert peak_db(np.array([-32_768], dtype=np.int16)) == 0


def test_clipped_samples_are_counted() -> None:
    assert clipped_share(TONE) == 0
    assert clipped_share(sounds.louder(TONE, 12)) > 0.5


def test_a_usual_line_is_not_clipped_and_a_shouted_one_is() -> None:
    line = sounds.line("bakery-unit-two/01")
    assert clipped_share(line) == 0
    assert clipped_share(sounds.louder(line, 12)) > 0.005


def test_the_meter_shows_the_last_moment() -> None:
    meter = Meter()
    assert meter.peak_db() == SILENCE_DB
    for number, sound in enumerate([TONE[:800], *[sounds.silence(0.05)] * 3]):
        meter.add(Block(sound, number * 0.05))
    assert meter.peak_db() == pytest.approx(-6.02, abs=0.02)
    for number in range(4, 7):
        meter.add(Block(sounds.silence(0.05), number * 0.05))
    assert meter.peak_db() == SILENCE_DB
    assert not meter.clipping()


def changes(flat: Flatness, sound: sounds.Sound, seconds: float) -> list[bool]:
    found = [flat.add(Block(sound, 0.0)) for _ in range(round(seconds / 0.05))]
    return [change for change in found if change is not None]


def test_a_flat_microphone_is_told_once_and_when_it_is_back() -> None:
    flat, constant = Flatness(), np.full(800, 17, dtype=np.int16)
    assert changes(flat, sounds.noise(0.05), 60) == []
    assert changes(flat, constant, 9) == []
    assert changes(flat, constant, 60) == [True]
    assert changes(flat, sounds.noise(0.05, -80), 1) == [False]


def test_a_headset_that_sends_true_silence_between_words_is_told_ever_more_rarely() -> None:
    flat = Flatness()
    told = []
    for _ in range(20):  # every 15 seconds a word
        told += changes(flat, sounds.silence(0.05), 15) + changes(flat, TONE[:800], 1)
    assert told == [True, False]
