"""Sound without a word in it: an empty room, each machine alone, knocks."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from fieldvoice.training.evaluate.samples import FLOOR, Sample
from fieldvoice.training.speech.noise import MACHINES, RATE

LEVELS = {"far": 300.0, "near": 3000.0}  # root mean square, int16 steps; near: as loud as speech
KNOCKS_S = 2.5  # mean time between knocks


def minutes_of_sound(minutes: float, seed: int) -> list[Sample]:
    """`minutes` of each kind; the voice of a sample names its kind."""
    count = int(60 * minutes * RATE)
    kinds: dict[str, Callable[[np.random.Generator], NDArray[np.float64]]] = {
        "empty room": lambda rng: FLOOR * rng.standard_normal(count),
        "knocks": lambda rng: knocks(count, rng),
    }
    for name, machine in MACHINES.items():
        for place, level in LEVELS.items():
            kinds[f"{name}, {place}"] = _at(machine, level, count)
    return [
        Sample(np.clip(make(np.random.default_rng(seed + k)).round(), -32768, 32767)
               .astype(np.int16), (), kind)
        for k, (kind, make) in enumerate(kinds.items())
    ]  # fmt: skip


def _at(
    machine: Callable[[int, np.random.Generator], NDArray[np.float64]], level: float, count: int
) -> Callable[[np.random.Generator], NDArray[np.float64]]:
    return lambda rng: level * machine(count, rng)


def knocks(count: int, rng: np.random.Generator) -> NDArray[np.float64]:
    """Tools put down and panels struck: short bursts that ring at a few pitches and die away."""
    sound = FLOOR * rng.standard_normal(count)
    t = np.arange(RATE // 2) / RATE
    for start in rng.integers(0, count - len(t), int(count / RATE / KNOCKS_S)):
        ring = sum(np.sin(2 * np.pi * hertz * t) * np.exp(-t / rng.uniform(0.01, 0.08))
                   for hertz in rng.uniform(150, 4000, 4))  # fmt: skip
        burst = rng.standard_normal(len(t)) * np.exp(-t / 0.004)
        sound[start : start + len(t)] += rng.uniform(1000, 6000) * (0.4 * ring + burst)
    return sound
