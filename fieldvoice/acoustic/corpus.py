"""All training speech as one flat tensor, and batches of it placed in time on the device."""

from __future__ import annotations

import random
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import torch
from torch import Tensor

from fieldvoice.acoustic.network import PHONES
from fieldvoice.acoustic.shards import Utterance, read_shard

MARGIN = 3200  # samples of silence on each side of a plain batch's utterances
PHONE_INDEX = {phone: k + 1 for k, phone in enumerate(PHONES)}


@dataclass
class Corpus:
    """`sound` holds every utterance end to end (int16, on the device)."""

    sound: Tensor
    starts: list[int]
    lengths: list[int]
    targets: list[list[int]]

    @staticmethod
    def of(utterances: Iterable[Utterance], device: str) -> Corpus:
        """Gather the utterances on `device`."""
        sounds, targets = [], []
        for u in utterances:
            sounds.append(u.sound)
            targets.append([PHONE_INDEX[p] for word in u.about.phones for p in word])
        lengths = [len(s) for s in sounds]
        starts = [0, *np.cumsum(lengths)[:-1].tolist()]
        flat = torch.from_numpy(np.concatenate(sounds)).to(device)
        return Corpus(flat, starts, lengths, targets)

    def hours(self) -> float:
        """How much speech there is."""
        return sum(self.lengths) / 16_000 / 3600

    def place(self, picks: list[int], at: list[int], rates: list[float], samples: int) -> Tensor:
        """Row k: utterance picks[k] (-1: none) from sample at[k] on, `rates[k]` times as fast."""
        device = self.sound.device
        start = torch.tensor([self.starts[i] for i in picks], device=device)[:, None]
        length = torch.tensor([self.lengths[i] if i >= 0 else 0 for i in picks], device=device)[
            :, None
        ]
        rate = torch.tensor(rates, device=device, dtype=torch.float64)[:, None]
        t = torch.arange(samples, device=device)[None] - torch.tensor(at, device=device)[:, None]
        exact = t * rate
        whole = exact.floor().long()
        inside = (whole >= 0) & (whole < length - 1)
        index = (start + whole).clamp(0, len(self.sound) - 2)
        part = (exact - whole).float()
        near, far = self.sound[index].float(), self.sound[index + 1].float()
        return (near * (1 - part) + far * part) * inside


@dataclass
class Batch:
    """Clean sound in place, its speaking level, and what it says."""

    sound: Tensor  # [rows, samples], int16 scale
    level: Tensor  # [rows, 1], root mean square while speaking
    samples: list[int]  # length of each row
    targets: list[list[int]]


def training_batch(corpus: Corpus, picks: list[int], rng: random.Random) -> Batch:
    """Each pick with silence around it; a quarter get a second one behind, a few say nothing."""
    seconds, first_at, second_at, second = [], [], [], []
    rates = [rng.choice([1.0, rng.uniform(0.88, 1.15)]) for _ in picks]
    targets = []
    spoken = list(picks)
    for row, i in enumerate(picks):
        length = int(corpus.lengths[i] / rates[row])
        first_at.append(rng.randint(200, 9000))
        end, other = first_at[-1] + length, -1
        target = corpus.targets[i]
        if rng.random() < 0.02:
            spoken[row], target = -1, []
        elif rng.random() < 0.25:
            other = rng.choice(picks)
            second_at.append(end + rng.randint(800, 9000))
            end, target = (
                second_at[-1] + int(corpus.lengths[other] / rates[row]),
                target + corpus.targets[other],
            )
        if other < 0:
            second_at.append(0)
        second.append(other)
        seconds.append(end + rng.randint(800, 9000))
        targets.append(target)
    longest = max(seconds)
    sound = corpus.place(spoken, first_at, rates, longest)
    gains = torch.tensor([rng.uniform(0.4, 1.4) for _ in picks], device=sound.device)[:, None]
    sound = sound + gains * corpus.place(second, second_at, rates, longest)
    speaking = torch.tensor([[corpus.lengths[i] / r] for i, r in zip(picks, rates, strict=True)])
    speaking = speaking.to(sound.device)
    level = (sound.square().sum(1, keepdim=True) / speaking).sqrt().clamp_min(200.0)
    return Batch(sound, level, seconds, targets)


def plain_batch(corpus: Corpus, picks: list[int]) -> Batch:
    """The picks as they are, a fifth of a second of silence around each."""
    samples = [corpus.lengths[i] + 2 * MARGIN for i in picks]
    sound = corpus.place(picks, [MARGIN] * len(picks), [1.0] * len(picks), max(samples))
    level = torch.full((len(picks), 1), 3000.0, device=sound.device)
    return Batch(sound, level, samples, [corpus.targets[i] for i in picks])


def load(folder: Path, workers: int = 8) -> list[Utterance]:
    """Decode every shard below `folder`, several at a time."""
    from concurrent.futures import ThreadPoolExecutor

    with ThreadPoolExecutor(workers) as pool:
        shards = pool.map(read_shard, sorted(folder.rglob("*.json")))
        return [u for shard in shards for u in shard]
