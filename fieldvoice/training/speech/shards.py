"""Synthetic speech on disk: a sound file of many utterances, and a JSON of their words."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

RATE = 16_000
COMPRESSION = 0.92  # about 10 MB an hour: an hour of training sound must travel to a GPU cheaply


@dataclass(frozen=True)
class About:
    """What one utterance says."""

    words: list[str]
    phones: list[list[str]]  # ARPAbet without stress, a list a word
    voice: str
    samples: int = 0

    @classmethod
    def unstressed(cls, words: list[str], phones: Iterable[Iterable[str]], voice: str) -> About:
        """Of what was said with its `phones`, each with or without the figure of its stress."""
        return cls(words, [[phone.rstrip("012") for phone in word] for word in phones], voice)


@dataclass(frozen=True)
class Utterance:
    """Sound (int16, 16 kHz) and what it says."""

    sound: NDArray[np.int16]
    about: About


def write_shard(path: Path, utterances: list[Utterance], packed: bool = True) -> None:
    """Write PATH.ogg (Opus; not `packed`: PATH.npy) and PATH.json, last: it marks completion."""
    whole = np.concatenate([u.sound for u in utterances])
    if packed:
        import soundfile

        soundfile.write(path.with_suffix(".ogg"), whole, RATE, format="OGG", subtype="OPUS",
                        compression_level=COMPRESSION)  # fmt: skip
    else:
        np.save(path.with_suffix(".npy"), whole)
    abouts = [{**asdict(u.about), "samples": len(u.sound)} for u in utterances]
    unfinished = path.with_suffix(".part")
    unfinished.write_text(json.dumps(abouts))
    unfinished.rename(path.with_suffix(".json"))


def read_shard(path: Path) -> list[Utterance]:
    """Read the shard whose JSON is PATH."""
    if path.with_suffix(".npy").exists():
        whole = np.load(path.with_suffix(".npy"))
    else:
        import soundfile

        whole, _ = soundfile.read(path.with_suffix(".ogg"), dtype="int16")
    abouts = [About(**a) for a in json.loads(path.read_text())]
    ends = np.cumsum([a.samples for a in abouts])
    return [Utterance(whole[e - a.samples : e], a) for a, e in zip(abouts, ends, strict=True)]


def read_folder(folder: Path) -> Iterator[Utterance]:
    """Every utterance of every complete shard, in name order."""
    for path in sorted(folder.rglob("*.json")):
        yield from read_shard(path)
