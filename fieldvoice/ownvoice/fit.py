"""Fitting an adaptation to what a speaker said: by gradient, with shrinkage to no change at all."""

from __future__ import annotations

import math
import random
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from fieldvoice.acoustics.criterion import Rivals, log_softmax, phone_trigram, said
from fieldvoice.acoustics.final_mdl import Floats, Weights
from fieldvoice.acoustics.lexicon import Phones
from fieldvoice.acoustics.mfcc import mfcc
from fieldvoice.ownvoice.disturbed import beside_noise, in_a_quiet_room
from fieldvoice.ownvoice.network import SUBSAMPLING, Adaptation, Passage, identity

CTC_BESIDE_MMI = 0.1  # keeps it from forgetting what silence is


@dataclass(frozen=True)
class Line:
    """What was said: int16 sound at 16 kHz, and the network outputs of its phones."""

    sound: NDArray[np.int16]
    phones: Phones


@dataclass(frozen=True)
class How:
    """How long and how hard to fit.

    Chosen by the criterion on other lines of a voice never trained on, quiet and beside machines:
    less noise than this learned the quiet better and the machines worse, and CTC alone spoiled what
    was heard beside machines.
    """

    rounds: int = 12  # over all lines
    rows: int = 8  # lines of a step
    rate: float = 0.01  # of the first steps; it falls to nothing
    shrink: float = 0.02  # share of the change that is given up at each step, times the rate
    input_rate: float = 0.1  # of the affine transform of the features, beside `rate`
    margin: float = 0.5  # by which rivals are favoured at an output at which they are wrong
    noisy: float = 0.8  # share of the lines to which noise is added
    loudest_db: float = 0.0  # of that noise, as decibels of the speech above it
    softest_db: float = 25.0
    seed: int = 1
    limit_s: float = 180.0  # after which it ends, with as many rounds as there were


HOW = How()


def fit(
    weights: Weights, lines: Sequence[Line], rivals: Rivals | None, how: How,
    tell: Callable[[float], None] = lambda share: None,
) -> Adaptation:
    """An adaptation under which the lines' phones are likelier.

    `rivals` None: by CTC alone. `tell` is given the share of the work that is done.
    """
    rng = np.random.default_rng(how.seed)
    by = identity(weights)
    adam = _Adam(_rates(by, lines, how), how.shrink * how.rate)
    steps = how.rounds * math.ceil(len(lines) / how.rows)
    began = time.monotonic()
    for step, batch in enumerate(_batches(lines, how, rng)):
        done = max(step / steps, (time.monotonic() - began) / how.limit_s)
        if done >= 1:
            break
        share = 0.5 * (1 + math.cos(math.pi * done)) * min(1, (step + 1) / 10)
        by = adam.step(by, gradients(weights, by, batch, rivals, how, rng), share)
        tell(done)
    return by


class _Adam:
    """Steps against the gradient, each number's by its usual size (Kingma and Ba, 2015)."""

    def __init__(self, rates: Mapping[str, Floats], shrink: float) -> None:
        self._rates, self._shrink, self._steps = rates, shrink, 0
        self._mean = {name: np.zeros_like(v) for name, v in rates.items()}
        self._square = {name: np.zeros_like(v) for name, v in rates.items()}

    def step(self, by: Adaptation, gradient: Adaptation, share: float) -> Adaptation:
        """The next adaptation; `share`: of the full rate."""
        self._steps += 1
        found = {}
        for name, g in gradient.items():
            self._mean[name] += 0.1 * (g - self._mean[name])
            self._square[name] += 0.01 * (g * g - self._square[name])
            mean = self._mean[name] / (1 - 0.9**self._steps)
            square = self._square[name] / (1 - 0.99**self._steps)
            move = self._rates[name] * mean / (np.sqrt(square) + 1e-8)
            found[name] = (by[name] * (1 - share * self._shrink) - share * move).astype(np.float32)
        return {name: found[name] for name in by}  # in the order of `by`


def gradients(
    weights: Weights, by: Adaptation, batch: Sequence[Line], rivals: Rivals | None, how: How,
    rng: np.random.Generator,
) -> Adaptation:
    """Of the loss of some lines, a phone."""
    heard = [mfcc(_disturbed(line.sound, how, rng)) for line in batch]
    passage = Passage(weights, by, stacked(heard))
    lengths = [-(-len(f) // SUBSAMPLING) for f in heard]
    log_probs = log_softmax(passage.scores)
    _, shares = said(log_probs, lengths, [line.phones for line in batch])
    inside = shares.sum(2, keepdims=True)
    ctc = np.exp(log_probs) * inside - shares
    gradient = ctc
    if rivals is not None:
        _, others = rivals(log_probs + how.margin * (1 - shares), lengths)
        gradient = others * inside - shares + CTC_BESIDE_MMI * ctc
    return passage.back(gradient / max(1, sum(len(line.phones) for line in batch)))


def stacked(rows: Sequence[Floats]) -> Floats:
    """Rows of one length: the last frame of each is repeated."""
    longest = max(map(len, rows))
    return np.stack([np.pad(r, ((0, longest - len(r)), (0, 0)), "edge") for r in rows])


def _batches(lines: Sequence[Line], how: How, rng: np.random.Generator) -> Iterator[list[Line]]:
    """Lines of about one length together, in another order each round."""
    for _ in range(how.rounds):
        lengths = np.array([len(line.sound) for line in lines]) * rng.uniform(0.8, 1.25, len(lines))
        ordered = [lines[k] for k in np.argsort(lengths)]
        starts = np.arange(0, len(lines), how.rows)
        for start in rng.permutation(starts):
            yield ordered[start : start + how.rows]


def _rates(by: Adaptation, lines: Sequence[Line], how: How) -> Mapping[str, Floats]:
    """The rate of each number: features are of different sizes, and so are their changes."""
    rates = {name: np.full_like(v, how.rate) for name, v in by.items()}
    size = np.concatenate([mfcc(line.sound) for line in lines]).std(0) + 1e-3
    rates["input.turn"] = (how.rate * how.input_rate * size / size[:, None]).astype(np.float32)
    rates["input.shift"] = (how.rate * how.input_rate * size).astype(np.float32)
    return rates


def _disturbed(sound: NDArray[np.int16], how: How, rng: np.random.Generator) -> Floats:
    """As a microphone might give it, now and then beside noise of some colour."""
    whole = in_a_quiet_room(sound, rng)
    if rng.random() >= how.noisy:
        return whole
    decibels = rng.uniform(how.loudest_db, how.softest_db)
    return beside_noise(whole, sound, decibels, rng.uniform(0, 1.2), rng)


def rivals_of(lexicon: Mapping[str, Sequence[Phones]], labels: int) -> Rivals:
    """All that could have been said: any word after any other."""
    rng, words = random.Random(6), sorted(lexicon)
    runs = ([rng.choice(lexicon[word]) for word in rng.choices(words, k=6)] for _ in range(8000))
    return Rivals(phone_trigram((tuple(chain.from_iterable(run)) for run in runs), labels))
