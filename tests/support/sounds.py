"""Sounds for tests: lines of the recorded jobs, noise, silence."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldvoice.devices.soundfile import read_sound

RATE = 16_000
RECORDED = Path(__file__).resolve().parents[2] / "recordings_demo"

Sound = NDArray[np.int16]


def line(name: str) -> Sound:
    """A line of a recorded job, as "bakery-unit-two/next-1"."""
    return read_sound(RECORDED / f"{name}.flac")


def silence(seconds: float) -> Sound:
    """Digital silence."""
    return np.zeros(round(seconds * RATE), dtype=np.int16)


def noise(seconds: float, decibels: float = -40.0, seed: int = 1) -> Sound:
    """White noise of an effective level in dB below full scale."""
    drawn = np.random.default_rng(seed).normal(0.0, 1.0, round(seconds * RATE))
    return np.clip(np.rint(drawn * 10 ** (decibels / 20) * 32_768), -32_768, 32_767).astype(
        np.int16)


def louder(sound: Sound, decibels: float) -> Sound:
    """Amplified; what is over full scale is clipped."""
    return np.clip(np.rint(sound * 10 ** (decibels / 20)), -32_768, 32_767).astype(np.int16)


def in_noise(sound: Sound, before_s: float, after_s: float, decibels: float) -> Sound:
    """A sound in white noise that begins before it and goes on after it."""
    mixed = noise(before_s + len(sound) / RATE + after_s, decibels).astype(int)
    begin = round(before_s * RATE)
    mixed[begin : begin + len(sound)] += sound
    return np.clip(mixed, -32_768, 32_767).astype(np.int16)
