"""What happens to speech on its way: rooms, far microphones, clipping, gain, tight cuts."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, fftconvolve, sosfilt

from fieldvoice.training.speech.noise import RATE, speech_level

Sound = NDArray[np.float64]
Speech = NDArray[np.int16]
FULL = 32_767
EARLY_S = 0.05  # first reflections lie before it
EARLY = 10
VOLUME_M3 = 60.0  # of a plant room or a small shop
NEAR_M, FAR_M = 0.6, 3.0  # mouth to microphone
FAR_BAND = (200.0, 4500.0)  # hertz that a small microphone across a room still brings
FAR_DECIBELS = 18.0  # speech over the microphone's own noise there
STEP_S = (0.4, 1.2)  # between two steps of an automatic gain
STEP_DECIBELS = 9.0
RAMP_S = 0.01
TIGHT = 0.03  # of the peak: below, at its ends, a tight cut takes all away
AROUND_S = 0.3
HISS_DECIBELS = 35.0


def clipped(speech: Speech, decibels: float) -> Speech:
    """Turned up until its peak lies `decibels` above full scale, and cut off there."""
    gain = FULL * 10 ** (decibels / 20) / max(1, int(np.abs(speech.astype(np.int32)).max()))
    return np.clip((speech * gain).round(), -FULL, FULL).astype(np.int16)


def gain_steps(speech: Speech, seed: int) -> Speech:
    """Under an automatic gain that jumps up and down, speech and noise alike."""
    rng = np.random.default_rng(seed)
    decibels = np.zeros(len(speech))
    place = int(rng.uniform(*STEP_S) * RATE)
    while place < len(speech):
        decibels[place:] = rng.uniform(-STEP_DECIBELS, STEP_DECIBELS)
        place += int(rng.uniform(*STEP_S) * RATE)
    ramp = np.ones(int(RAMP_S * RATE)) / int(RAMP_S * RATE)
    smooth = np.convolve(np.pad(decibels, len(ramp), "edge"), ramp, "same")[len(ramp) : -len(ramp)]
    return _int16(speech * 10 ** (smooth / 20))


def response(rt60_s: float, metres: float, rng: np.random.Generator) -> Sound:
    """A room's impulse response: direct sound, early reflections, a tail that dies away.

    The tail falls by 60 dB in `rt60_s` (the reverberation time of ISO 3382-2, from memory). Beside
    the direct sound it is as loud as in a room of VOLUME_M3 at so many `metres`: the two are equal
    at 0.057 sqrt(volume / time), the critical distance of diffuse fields (from memory).
    """
    count = int(1.2 * rt60_s * RATE)
    t = np.arange(count) / RATE
    tail = rng.standard_normal(count) * 10 ** (-3 * t / rt60_s)
    tail[: int(0.003 * RATE)] = 0
    for place in rng.integers(int(0.003 * RATE), int(EARLY_S * RATE), EARLY):
        tail[place] += rng.choice([-1.0, 1.0]) * 4 * 10 ** (-3 * t[place] / rt60_s)
    critical = 0.057 * np.sqrt(VOLUME_M3 / rt60_s)
    tail *= metres / critical / np.sqrt((tail**2).sum())
    tail[0] += 1.0
    return tail


def in_room(speech: Speech, rt60_s: float, seed: int, metres: float = NEAR_M) -> Speech:
    """Said in a room, at the same level; its tail is left on."""
    heard = fftconvolve(speech, response(rt60_s, metres, np.random.default_rng(seed)))
    return _at_level(heard, speech)


def far(speech: Speech, seed: int) -> Speech:
    """Across a room from a small microphone: reverberant, narrow, near the microphone's noise."""
    rng = np.random.default_rng(seed)
    heard = fftconvolve(speech, response(0.6, FAR_M, rng))
    heard = np.pad(heard, int(AROUND_S * RATE))
    heard = sosfilt(butter(2, FAR_BAND, "bandpass", fs=RATE, output="sos"), heard)
    level = speech_level(_int16(heard * 3000 / np.abs(heard).max())) * np.abs(heard).max() / 3000
    heard += rng.standard_normal(len(heard)) * level * 10 ** (-FAR_DECIBELS / 20)
    return _int16(heard * 600 / level)


def cut_tight(speech: Speech, hiss: bool, seed: int) -> Speech:
    """Without the soft beginning and end, between digital silence or hiss."""
    loud = np.flatnonzero(np.abs(speech.astype(np.int32)) > TIGHT * np.abs(speech).max())
    kept = speech[loud[0] : loud[-1] + 1].astype(np.float64)
    padded = np.pad(kept, int(AROUND_S * RATE))
    if hiss:
        level = speech_level(speech) * 10 ** (-HISS_DECIBELS / 20)
        padded += level * np.random.default_rng(seed).standard_normal(len(padded))
    return _int16(padded)


def _at_level(heard: Sound, like: Speech) -> Speech:
    peak = np.abs(heard).max()
    return _int16(heard * np.abs(like.astype(np.int32)).max() / max(1.0, peak))


def _int16(sound: Sound) -> Speech:
    return np.clip(sound.round(), -FULL, FULL).astype(np.int16)
