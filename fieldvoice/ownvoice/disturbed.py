"""A line as a microphone might give it: in a quiet room, or beside noise."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fieldvoice.acoustics.final_mdl import Floats
from fieldvoice.acoustics.mfcc import RATE

AROUND_S = 0.2
FLOOR = 3.0  # level of a quiet microphone's noise, in steps of int16


def in_a_quiet_room(sound: NDArray[np.int16], rng: np.random.Generator) -> Floats:
    """With a quiet microphone's noise around and under it."""
    whole = np.pad(sound.astype(np.float32), int(AROUND_S * RATE))
    return whole + np.float32(FLOOR) * rng.standard_normal(len(whole), np.float32)


def beside_noise(
    whole: Floats, speech: NDArray[np.int16], decibels: float, tilt: float,
    rng: np.random.Generator,
) -> Floats:
    """With noise that the speech is so many decibels louder than.

    `tilt`: by which power of the frequency the noise falls: 0 hisses, 1 rumbles.
    """
    spectrum = np.fft.rfft(rng.standard_normal(len(whole)))
    spectrum *= (np.arange(len(spectrum)) + 50.0) ** -tilt
    noise = np.fft.irfft(spectrum, len(whole))
    level = np.sqrt(np.mean(np.square(speech, dtype=np.float32))) + 1
    added: Floats = (noise * (level * 10 ** (-decibels / 20) / noise.std())).astype(np.float32)
    return whole + added
