"""Training speech in memory, and batches of it: rows of equal length packed with utterances."""

from __future__ import annotations

import queue
import random
import threading
import time
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
import torch
import torch.multiprocessing as mp
from numpy.typing import NDArray
from torch import Tensor

from fieldvoice.training.network.features import RATE
from fieldvoice.training.network.shape import PHONES
from fieldvoice.training.speech.shards import Utterance, read_shard

MARGIN = 3200  # samples of silence on each side of a plain batch's utterances
PHONE_INDEX = {phone: k + 1 for k, phone in enumerate(PHONES)}
# How often each synthesizer is drawn where several are there: neural speech is nearest to people.
SHARES = {"kokoro": 0.66, "flite": 0.10, "pico": 0.09, "espeak": 0.07, "festival": 0.08}
TRIES = 4  # to find an utterance that fits into what is left of a row


@dataclass
class Spoken:
    """One utterance: int16 sound, its phones as numbers, and its level while speaking."""

    sound: NDArray[np.int16]
    target: list[int]
    level: float


@dataclass
class Corpus:
    """Utterances by the synthesizer that spoke them; may grow while it is drawn from."""

    groups: dict[str, list[Spoken]] = field(default_factory=dict)

    def add(self, utterances: Iterable[Utterance]) -> None:
        """Take in more."""
        for u in utterances:
            level = float(np.sqrt(np.mean(np.square(u.sound, dtype=np.float32)))) + 1.0
            target = [PHONE_INDEX[p] for word in u.about.phones for p in word]
            group = self.groups.setdefault(u.about.voice.split(":")[0], [])
            group.append(Spoken(u.sound, target, level))

    def all(self) -> list[Spoken]:
        """Every utterance."""
        return [s for group in self.groups.values() for s in group]

    def hours(self) -> float:
        """How much speech there is."""
        return sum(len(s.sound) for s in self.all()) / RATE / 3600

    def draw(self, rng: random.Random) -> Spoken:
        """One utterance, of a synthesizer drawn by SHARES."""
        names = list(self.groups)
        name = rng.choices(names, [SHARES.get(n, 0.05) for n in names])[0]
        return rng.choice(self.groups[name])


@dataclass
class Batch:
    """Clean sound in place, its speaking level, and what it says."""

    sound: Tensor  # [rows, samples], int16
    level: Tensor  # [rows, 1], root mean square while speaking
    samples: list[int]  # length of each row
    targets: list[list[int]]
    spans: list[list[tuple[int, int, list[int]]]]  # a row's utterances: first sample, last, phones

    def to(self, device: torch.device) -> Batch:
        """The same on another device."""
        return Batch(self.sound.to(device, non_blocking=True), self.level.to(device),
                     self.samples, self.targets, self.spans)  # fmt: skip


def _gap(rng: random.Random) -> int:
    """Samples between two utterances: 30 ms to a second and a half, mostly short."""
    return int(RATE * rng.choice([rng.uniform(0.03, 0.3), rng.uniform(0.1, 0.7),
                                  rng.uniform(0.3, 1.5)]))  # fmt: skip


def packed_batch(corpus: Corpus, rows: int, samples: int, rng: random.Random) -> Batch:
    """Rows filled with utterances and pauses; one in thirty says nothing, some end early."""
    sound = torch.zeros(rows, samples, dtype=torch.int16)
    view, levels, spans = sound.numpy(), [], []
    for row in range(rows):
        at, tries, placed, squares = rng.randint(100, 9000), 0, [], []
        silent = rng.random() < 0.033
        while not silent and tries < TRIES:
            one = corpus.draw(rng)
            end = at + len(one.sound)
            if end + 800 > samples:
                tries += 1
                continue
            view[row, at:end] = one.sound
            placed.append((at, end, one.target))
            squares.append(one.level**2)
            at = end + _gap(rng)
            if rng.random() < 0.1:
                break
        spans.append(placed)
        levels.append(float(np.sqrt(np.mean(squares))) if squares else 1500.0)
    targets = [[p for _, _, target in placed for p in target] for placed in spans]
    return Batch(sound, torch.tensor(levels)[:, None], [samples] * rows, targets, spans)


def plain_batch(spoken: list[Spoken]) -> Batch:
    """One utterance a row, a fifth of a second of silence around each."""
    samples = [len(s.sound) + 2 * MARGIN for s in spoken]
    sound = torch.zeros(len(spoken), max(samples), dtype=torch.int16)
    for row, s in zip(sound.numpy(), spoken, strict=True):
        row[MARGIN : MARGIN + len(s.sound)] = s.sound
    spans = [[(MARGIN, MARGIN + len(s.sound), s.target)] for s in spoken]
    return Batch(sound, torch.tensor([[s.level] for s in spoken]), samples,
                 [s.target for s in spoken], spans)  # fmt: skip


def _pack_from(ready: mp.Queue[Batch], folder: Path, rows: int, samples: int, seed: int) -> None:
    """Pack batches of a folder's speech until the process is ended."""
    torch.set_num_threads(1)
    corpus, rng = Corpus(), random.Random(seed)
    watch(corpus, folder)
    while True:
        ready.put(packed_batch(corpus, rows, samples, rng))


class Feed:
    """Packs batches in processes of their own: in threads they would hold the training up."""

    def __init__(self, folder: Path, rows: int, samples: int, seed: int, packers: int = 4) -> None:
        context = mp.get_context("spawn")
        self.packed: mp.Queue[Batch] = context.Queue(2 * packers)
        for k in range(packers):
            how = (self.packed, folder, rows, samples, 100 * seed + k)
            context.Process(target=_pack_from, args=how, daemon=True).start()
        self.ready: queue.Queue[Batch] = queue.Queue(3)
        threading.Thread(target=self._pin, daemon=True).start()

    def _pin(self) -> None:
        pinned = torch.cuda.is_available()
        while True:
            batch = self.packed.get()
            self.ready.put(replace(batch, sound=batch.sound.pin_memory()) if pinned else batch)

    def next(self) -> Batch:
        """The next batch."""
        return self.ready.get()


def load(corpus: Corpus, paths: list[Path], workers: int = 8) -> None:
    """Decode shards into the corpus, several at a time."""
    from concurrent.futures import ThreadPoolExecutor

    with ThreadPoolExecutor(workers) as pool:
        for shard in pool.map(read_shard, paths):
            corpus.add(shard)


def watch(corpus: Corpus, folder: Path, every_s: float = 5.0) -> None:
    """Take in the folder's shards now, then, in a thread, those that come."""
    known = sorted(folder.rglob("*.json"))
    load(corpus, known)

    def look() -> None:
        seen = set(known)
        while True:
            time.sleep(every_s)
            new = sorted(set(folder.rglob("*.json")) - seen)
            load(corpus, new, workers=1)
            seen |= set(new)

    threading.Thread(target=look, daemon=True).start()
