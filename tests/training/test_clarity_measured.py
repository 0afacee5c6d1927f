"""What the measured listeners tell of a sound is what work tells of it."""

from __future__ import annotations

import numpy as np
import pytest

from fieldvoice.commands.wiring.hearing import loudness
from fieldvoice.devices.ears import Sound
from fieldvoice.devices.ears.levels import above_noise
from fieldvoice.training.evaluate import listeners
from support import sounds

LINE = sounds.line("bakery-unit-two/01")
NOISY = (LINE + np.random.default_rng(1).normal(0, 300, len(LINE))).astype(np.int16)


@pytest.mark.parametrize("sound", [LINE, NOISY, sounds.louder(LINE, 12), LINE[:10], LINE[:0]],
                         ids=["as it is", "noisy", "shouted", "cut off", "none"])
def test_a_sound_is_as_clear_to_both(sound: Sound) -> None:
    told = loudness.clarity(sound)
    assert listeners.clarity(sound) == (round(told.above_noise_db, 1), round(told.clipped_part, 6))


def test_speech_stands_above_the_noise_by_the_floor_that_is_given() -> None:
    pressed = above_noise(LINE, np.full(40, -30.0))
    free = above_noise(LINE, np.full(40, -60.0))
    assert pressed is not None
    assert free is not None
    assert free[0] - pressed[0] == pytest.approx(30)
    assert above_noise(LINE[:10]) is None
