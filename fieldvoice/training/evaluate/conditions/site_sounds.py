"""Noises around a site for measuring only: other formulas than those that training uses.

Each maker takes how many samples and a generator, and gives sound of root mean square 1. Rates of
engines, rain and music are from memory.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.signal import fftconvolve, lfilter

from fieldvoice.training.speech.noise import RATE, speech_level

Sound = NDArray[np.float64]
Maker = Callable[[int, np.random.Generator], Sound]
TALKERS = 6
DROPS_PER_S = 350
BLOWS_PER_S = 3.0  # of crockery and pans
REVS = (45.0, 190.0)  # a second: a chainsaw from idle to full speed fires once each
BEAT_S = 0.27
NEAREST_M, PACE = 2.5, 5.0  # a vehicle goes by at so many metres, and metres a second
MUFFLED = 6000.0  # hertz that still pass at the nearest point: fewer further off
PEAK = 30_000


def unit(sound: Sound) -> Sound:
    """The sound at root mean square 1."""
    return sound / max(1e-9, float(np.sqrt((sound**2).mean())))


def _struck(
    count: int, rate: float, hertz: tuple[float, float], ring_s: tuple[float, float],
    rng: np.random.Generator, kinds: int = 12, modes: int = 6,
) -> Sound:  # fmt: skip
    """Things that are struck at random, `rate` times a second, of a few kinds that ring."""
    t = np.arange(int(6 * ring_s[1] * RATE)) / RATE
    whole = np.zeros(count)
    for _ in range(kinds):
        blows = np.where(rng.random(count) < rate / kinds / RATE, rng.lognormal(0, 0.7, count), 0)
        ring = np.zeros(len(t))
        for _ in range(modes):
            decay = np.exp(-t / rng.uniform(*ring_s))
            ring += rng.random() * decay * np.sin(2 * np.pi * rng.uniform(*hertz) * t)
        whole += fftconvolve(blows, ring)[:count]
    return whole


def kitchen(count: int, rng: np.random.Generator) -> Sound:
    """Crockery and pans put down, a tap running, an extractor."""
    clatter = _struck(count, BLOWS_PER_S, (700, 6500), (0.02, 0.15), rng)
    splash = lfilter([1, -0.85], [1, -0.3], rng.standard_normal(count))
    t = np.arange(count) / RATE
    extractor = lfilter([1], [1, -0.97], rng.standard_normal(count))
    extractor = unit(extractor) + 0.5 * np.sin(2 * np.pi * 118 * t)
    return unit(unit(clatter) + 0.5 * unit(splash) + 0.5 * unit(extractor))


def rain_on_metal(count: int, rng: np.random.Generator) -> Sound:
    """Drops on sheet metal, each ringing shortly, and the rain all around."""
    drops = _struck(count, DROPS_PER_S, (400, 5000), (0.004, 0.03), rng)
    around = lfilter([1, -0.6], [1], rng.standard_normal(count))
    return unit(unit(drops) + 0.5 * unit(around))


def two_stroke(count: int, rng: np.random.Generator) -> Sound:
    """A chainsaw: an exhaust note that rises and falls between idle and full speed, and rasp."""
    knots = rng.uniform(*REVS, int(count / RATE / 0.7) + 2)
    speed = np.interp(np.arange(count) / RATE / 0.7, np.arange(len(knots)), knots)
    turns = np.cumsum(speed / RATE)
    stroke = np.exp(-12 * (turns % 1)) * (1 + 0.25 * rng.standard_normal(count))
    pole = 0.96 * np.exp(2j * np.pi * rng.uniform(500, 900) / RATE)  # of the exhaust
    note = lfilter([1], [1, -2 * pole.real, abs(pole) ** 2], stroke - stroke.mean())
    chain = lfilter([1, -1], [1], rng.standard_normal(count)) * (0.3 + speed / REVS[1])
    return unit(unit(note) + 0.35 * unit(chain))


def music(count: int, rng: np.random.Generator) -> Sound:
    """A radio: chords of plucked tones, a bass, a drum and a cymbal."""
    t = np.arange(int(4 * BEAT_S * RATE)) / RATE
    whole = np.zeros(count + len(t))
    for beat, first in enumerate(range(0, count, int(BEAT_S * RATE))):
        if beat % 4 == 0:
            root = 110.0 * 2 ** (rng.integers(0, 12) / 12)
            third = rng.choice([3, 4])
        for step in (-12, 0, third, 7):
            tone = 2 * np.pi * root * 2 ** (step / 12) * t
            pluck = sum(np.sin(k * tone) / k for k in range(1, 9))
            whole[first : first + len(t)] += pluck * np.exp(-t / 0.4)
        hit = np.exp(-t / 0.03) * rng.standard_normal(len(t))
        if beat % 2 == 0:
            hit = 5 * np.exp(-t / 0.12) * np.sin(2 * np.pi * (50 * t - 3 * np.exp(-t / 0.03)))
        whole[first : first + len(t)] += hit
    return unit(whole[:count])


def passing(count: int, rng: np.random.Generator) -> Sound:
    """A vehicle that goes by: louder and brighter as it comes near, then duller and lower."""
    t = np.arange(count) / RATE
    along = PACE * (t - rng.uniform(0.2, 0.8) * t[-1])
    away = np.sqrt(NEAREST_M**2 + along**2)
    turns = np.cumsum(rng.uniform(22, 34) * (1 - PACE * along / away / 343)) / RATE  # Doppler
    hum = sum(np.sin(2 * np.pi * k * turns + rng.random()) / k**0.6 for k in range(1, 40))
    sound = unit(hum) + 0.8 * rng.standard_normal(count)
    return unit(_duller(sound, MUFFLED * NEAREST_M / away) * NEAREST_M / away)


def _duller(sound: Sound, cutoff: Sound) -> Sound:
    """Through a filter whose cutoff in hertz moves; changed every 10 ms."""
    block, state, found = RATE // 100, np.zeros(1), []
    for first in range(0, len(sound), block):
        keep = np.exp(-2 * np.pi * cutoff[first] / RATE)
        part, state = lfilter([1 - keep], [1, -keep], sound[first : first + block], zi=state)
        found.append(part)
    return np.concatenate(found)


def babble(voices: Sequence[NDArray[np.int16]]) -> Maker:
    """Several of these voices talking at once; ValueError for none."""
    if not voices:
        raise ValueError("babble needs voices")

    def make(count: int, rng: np.random.Generator) -> Sound:
        whole = np.zeros(count)
        for talker in rng.choice(len(voices), min(TALKERS, len(voices)), replace=False):
            said = voices[talker].astype(np.float64) / max(1.0, speech_level(voices[talker]))
            whole += rng.uniform(0.6, 1.0) * np.resize(np.roll(said, rng.integers(len(said))),
                                                       count)  # fmt: skip
        return unit(whole)

    return make


def recorded(sounds: Sequence[Sound]) -> Maker:
    """A piece of one of these recordings, over again where it is short; ValueError for none."""
    if not sounds:
        raise ValueError("no recorded noise: give a folder of sound files")

    def make(count: int, rng: np.random.Generator) -> Sound:
        whole = sounds[int(rng.integers(len(sounds)))]
        return unit(np.resize(np.roll(whole, -rng.integers(len(whole))), count))

    return make


NOISES: dict[str, Maker] = {
    "kitchen": kitchen,
    "rain on metal": rain_on_metal,
    "two-stroke": two_stroke,
    "music": music,
    "passing": passing,
}


def laid_over(
    speech: NDArray[np.int16], make: Maker, decibels: float, seed: int, margin_s: float = 0.4
) -> NDArray[np.int16]:
    """Speech with noise around and under it; `decibels` is speech level over noise level."""
    padded = np.pad(speech.astype(np.float64), int(margin_s * RATE))
    noise = make(len(padded), np.random.default_rng(seed))
    mixed = padded + noise * speech_level(speech) * 10 ** (-decibels / 20)
    mixed *= min(1.0, PEAK / np.abs(mixed).max())
    return mixed.round().astype(np.int16)
