"""MFCC features as Kaldi (and so Vosk) computes them, by numpy alone.

25 ms Povey window every 10 ms (snip-edges), DC removed, pre-emphasis 0.97, 512-point power
spectrum, 40 mel filters 20-7600 Hz, floored log, orthonormal DCT, lifter 22, all 40 cepstra, no
energy.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

RATE, WINDOW, HOP, FFT, MELS = 16_000, 400, 160, 512, 40
LOW_HZ, HIGH_HZ, LIFTER, FLOOR, PREEMPHASIS = 20.0, 7600.0, 22, 1.1920929e-07, 0.97

Floats = NDArray[np.float32]


def mfcc(sound: NDArray[np.int16] | Floats, warp: float = 1.0) -> Floats:
    """Features [frames, 40] of 16 kHz sound in steps of int16.

    `warp` > 1 makes the vocal tract shorter. Sound of less than 25 ms has no frame.
    """
    if len(sound) < WINDOW:
        return np.zeros((0, MELS), np.float32)
    frames = np.lib.stride_tricks.sliding_window_view(sound.astype(np.float32), WINDOW)[::HOP]
    frames = frames - frames.mean(1, keepdims=True)
    before = np.concatenate([frames[:, :1], frames[:, :-1]], 1)
    spectrum = np.fft.rfft((frames - PREEMPHASIS * before) * _window(), FFT)
    power = (spectrum.real**2 + spectrum.imag**2).astype(np.float32)
    mel: Floats = np.log(np.maximum(power @ _filters(warp), FLOOR))
    return mel @ _cosines()


@cache
def _window() -> Floats:
    n = np.arange(WINDOW)
    return ((0.5 - 0.5 * np.cos(2 * np.pi * n / (WINDOW - 1))) ** 0.85).astype(np.float32)


@cache
def _filters(warp: float) -> Floats:
    """Triangular mel filters [FFT / 2 + 1, MELS]."""

    def mel_of(hertz: NDArray[np.float64]) -> NDArray[np.float64]:
        return 1127.0 * np.log1p(hertz / 700.0)

    low, high = mel_of(np.array([LOW_HZ, HIGH_HZ]))
    step = (high - low) / (MELS + 1)
    at = mel_of(np.arange(FFT // 2) * RATE / FFT * warp)[:, None]
    left = low + step * np.arange(MELS)
    filters = np.zeros((FFT // 2 + 1, MELS), np.float32)
    filters[:-1] = np.clip(np.minimum((at - left) / step, (left + 2 * step - at) / step), 0, None)
    return filters


@cache
def _cosines() -> Floats:
    """Orthonormal cosine transform with the lifter in it, [MELS, cepstra]."""
    k, n = np.arange(MELS), np.arange(MELS)[:, None] + 0.5
    scale = np.where(k == 0, np.sqrt(1 / MELS), np.sqrt(2 / MELS))
    lifter = 1 + 0.5 * LIFTER * np.sin(np.pi * k / LIFTER)
    return (lifter * scale * np.cos(np.pi * k * n / MELS)).astype(np.float32)
