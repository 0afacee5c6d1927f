"""Test sentences as sound, clean or with noise on top."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldvoice.training.speech import noise
from fieldvoice.training.speech.shards import read_folder

CLEAN = "clean"
TELEPHONE = "telephone band"
MACHINES = "machines"  # one of the machines for each sentence, in turn
ROW = 8  # sentences one after another
MARGIN_S = 0.4  # of the quiet room before and after what is said
FLOOR = 3.0  # level of the noise of a quiet microphone, in int16 steps


@dataclass(frozen=True)
class Sample:
    """A sentence as sound: int16 at 16 kHz."""

    sound: NDArray[np.int16]
    words: tuple[str, ...]
    voice: str

    @property
    def seconds(self) -> float:
        """How long it lasts."""
        return len(self.sound) / noise.RATE


def from_shards(folder: Path) -> list[Sample]:
    """The utterances that synthesize.py left in a folder; FileNotFoundError when there are none."""
    found = [Sample(u.sound, tuple(u.about.words), u.about.voice) for u in read_folder(folder)]
    if not found:
        raise FileNotFoundError(f"no complete shards in {folder}: make them with synthesize.py")
    return found


def machine_of(place: int) -> str:
    """Which machine runs beside the sentence at this place under "machines"."""
    names = tuple(noise.MACHINES)
    return names[place % len(names)]


def under(condition: str, samples: list[Sample], seed: int) -> list[Sample]:
    """The samples under a condition.

    "clean", "telephone band" (what 8 kHz sampling leaves), or a noise and its decibels such as
    "fan 10"; "machines 10" takes the machines in turn.
    """
    return [_under(condition, s, place, seed + place) for place, s in enumerate(samples)]


def _under(condition: str, sample: Sample, place: int, seed: int) -> Sample:
    if condition == CLEAN:
        return replace(sample, sound=quiet_room(sample.sound, seed))
    if condition == TELEPHONE:
        return replace(sample, sound=quiet_room(telephone_band(sample.sound), seed))
    name, decibels = condition.rsplit(" ", 1)
    machine = machine_of(place) if name == MACHINES else name
    return replace(sample, sound=noise.with_noise(sample.sound, machine, float(decibels), seed))


def quiet_room(speech: NDArray[np.int16], seed: int) -> NDArray[np.int16]:
    """Speech with the faint noise of a quiet microphone around and under it."""
    padded = np.pad(speech.astype(np.float64), int(MARGIN_S * noise.RATE))
    padded += FLOOR * np.random.default_rng(seed).standard_normal(len(padded))
    return np.clip(padded.round(), -32768, 32767).astype(np.int16)


def in_a_row(
    samples: Sequence[Sample], pause_s: float, seed: int
) -> tuple[NDArray[np.int16], list[int]]:
    """Sentences one after another in a quiet room, and where each ends, in samples."""
    pause = np.zeros(round(pause_s * noise.RATE), np.int16)
    whole = np.concatenate([part for s in samples for part in (s.sound, pause)])
    lengths = np.array([len(s.sound) for s in samples]) + len(pause)
    ends = np.cumsum(lengths) - len(pause) + int(MARGIN_S * noise.RATE)
    return quiet_room(whole, seed), ends.tolist()


def telephone_band(speech: NDArray[np.int16]) -> NDArray[np.int16]:
    """Only 300-3400 Hz, the band of a telephone line (ITU-T G.712, from memory)."""
    spectrum = np.fft.rfft(speech.astype(np.float64))
    hertz = np.fft.rfftfreq(len(speech), 1 / noise.RATE)
    spectrum[(hertz < 300) | (hertz > 3400)] = 0
    return np.fft.irfft(spectrum, len(speech)).round().astype(np.int16)
