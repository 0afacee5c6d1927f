"""Made-up machine noises for test sets and the demo, apart from those that training uses."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

RATE = 16_000
Sound = NDArray[np.float64]


def _filtered(samples: int, rng: np.random.Generator, shape: Callable[[Sound], Sound]) -> Sound:
    """White noise whose spectrum is multiplied by `shape` of its frequencies in hertz."""
    spectrum = np.fft.rfft(rng.standard_normal(samples))
    hertz: Sound = np.fft.rfftfreq(samples, 1 / RATE).astype(np.float64)
    noise: Sound = np.fft.irfft(spectrum * shape(hertz), samples)
    return noise / noise.std()


def vacuum_pump(samples: int, rng: np.random.Generator) -> Sound:
    """A two-stage rotary pump: shaft and vane harmonics, mains hum, oil rattle, exhaust hiss."""
    t = np.arange(samples) / RATE
    shaft = 28.5 * t + 0.15 * np.sin(2 * np.pi * 0.7 * t)
    tones = sum(np.sin(2 * np.pi * (k * shaft + rng.random())) / k**0.7 for k in range(1, 22))
    hum = sum(np.sin(2 * np.pi * (120 * k * t + rng.random())) / k for k in range(1, 6))
    rattle = _filtered(samples, rng, lambda f: np.exp(-(((f - 1400) / 700) ** 2)))
    rattle = rattle * (1 + np.sin(2 * np.pi * 2 * shaft)) ** 2
    hiss = _filtered(samples, rng, lambda f: 1 / (1 + (f / 2500) ** 2))
    noise = tones / np.std(tones) + 0.6 * hum / np.std(hum) + 0.4 * rattle + 0.6 * hiss
    return noise / noise.std()


def fan(samples: int, rng: np.random.Generator) -> Sound:
    """A condenser fan: broad flow noise falling with frequency, a blade tone that beats slowly."""
    t = np.arange(samples) / RATE
    flow = _filtered(samples, rng, lambda f: 1 / (1 + (f / 350) ** 1.2))
    blade = np.sin(2 * np.pi * 52 * t) * (1 + 0.5 * np.sin(2 * np.pi * 0.9 * t))
    noise: Sound = flow + 0.4 * blade
    return noise / noise.std()


def compressor(samples: int, rng: np.random.Generator) -> Sound:
    """A scroll compressor and its contactor: mains harmonics, a whine, some rumble."""
    t = np.arange(samples) / RATE
    hum = sum(np.sin(2 * np.pi * (60 * k * t + rng.random())) / k**0.5 for k in range(1, 30))
    whine = np.sin(2 * np.pi * (2950 * t + 0.8 * np.sin(2 * np.pi * 3.1 * t)))
    rumble = _filtered(samples, rng, lambda f: np.exp(-f / 200) + 0.05)
    noise: Sound = hum / np.std(hum) + 0.15 * whine + 0.7 * rumble
    return noise / noise.std()


def white(samples: int, rng: np.random.Generator) -> Sound:
    """Equally strong at every frequency: what other recognizers are measured with."""
    return rng.standard_normal(samples)


MACHINES: dict[str, Callable[[int, np.random.Generator], Sound]] = {
    "vacuum pump": vacuum_pump,
    "fan": fan,
    "compressor": compressor,
}
NOISES = {**MACHINES, "white": white}


def speech_level(speech: NDArray[np.int16]) -> float:
    """Root mean square over the 20 ms frames that lie within 30 dB of the loudest."""
    frames = speech[: len(speech) // 320 * 320].astype(np.float64).reshape(-1, 320)
    power = (frames**2).mean(1)
    return float(np.sqrt(power[power > power.max() / 1000].mean()))


def with_noise(
    speech: NDArray[np.int16], machine: str, decibels: float, seed: int, margin_s: float = 0.4
) -> NDArray[np.int16]:
    """Speech with noise around and under it; `decibels` is speech level over noise level."""
    padded = np.pad(speech.astype(np.float64), int(margin_s * RATE))
    noise = NOISES[machine](len(padded), np.random.default_rng(seed))
    mixed = padded + noise * speech_level(speech) * 10 ** (-decibels / 20)
    peak = np.abs(mixed).max()
    mixed *= min(1.0, 30_000 / peak)
    return mixed.round().astype(np.int16)
