"""Test sentences as sound, clean or with noise on top."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldvoice.training.evaluate.conditions import channels, site_sounds
from fieldvoice.training.evaluate.conditions.site_sounds import Maker
from fieldvoice.training.speech import noise
from fieldvoice.training.speech.shards import read_folder

CLEAN = "clean"
TELEPHONE = "telephone band"
BABBLE = "babble"  # of the other sentences of the set, where no other talk is given
TIGHT, TIGHT_HISS = "cut tight", "cut tight, hiss"
MACHINES = "machines"  # one of the machines for each sentence, in turn
ROW = 8  # sentences one after another
MARGIN_S = 0.4  # of the quiet room before and after what is said
SILENT = 0.02  # of a sentence's peak; softer, at its end, is silence
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


def under(
    condition: str, samples: list[Sample], seed: int, recorded: Mapping[str, Maker] | None = None
) -> list[Sample]:
    """The samples under a condition.

    "clean", "telephone band" (what 8 kHz sampling leaves), a way such as "room 1.0", "clipped 12",
    "far" or "cut tight", or a noise and its decibels such as "fan 10"; "machines 10" takes the
    machines in turn, and `recorded` holds further noises by name.
    """
    return [
        replace(s, sound=_under(condition, place, seed + place, samples, recorded or {}))
        for place, s in enumerate(samples)
    ]


def _under(
    condition: str, place: int, seed: int, samples: list[Sample], recorded: Mapping[str, Maker]
) -> NDArray[np.int16]:
    speech = samples[place].sound
    if condition in WAYS:
        return WAYS[condition](speech, seed)
    name, amount = condition.rsplit(" ", 1)
    if name == "room":
        return quiet_room(channels.in_room(speech, float(amount), seed), seed)
    if name == "clipped":
        return channels.clipped(quiet_room(speech, seed), float(amount))
    makers = {**site_sounds.NOISES, **recorded}
    if name == BABBLE and BABBLE not in recorded:
        makers[BABBLE] = site_sounds.babble(_others(place, samples))
    if name in makers:
        return site_sounds.laid_over(speech, makers[name], float(amount), seed)
    machine = machine_of(place) if name == MACHINES else name
    return noise.with_noise(speech, machine, float(amount), seed)


def _others(place: int, samples: list[Sample]) -> list[NDArray[np.int16]]:
    """The sounds of some sentences after this one, round the end."""
    return [samples[(place + k) % len(samples)].sound for k in range(1, min(24, len(samples)))]


def quiet_room(speech: NDArray[np.int16], seed: int) -> NDArray[np.int16]:
    """Speech with the faint noise of a quiet microphone around and under it."""
    padded = np.pad(speech.astype(np.float64), int(MARGIN_S * noise.RATE))
    padded += FLOOR * np.random.default_rng(seed).standard_normal(len(padded))
    return np.clip(padded.round(), -32768, 32767).astype(np.int16)


def in_a_row(
    samples: Sequence[Sample], pause_s: float, seed: int
) -> tuple[NDArray[np.int16], list[int]]:
    """Sentences one after another in a quiet room, and where each falls silent, in samples."""
    pause = np.zeros(round(pause_s * noise.RATE), np.int16)
    whole = np.concatenate([part for s in samples for part in (s.sound, pause)])
    lengths = np.array([len(s.sound) for s in samples]) + len(pause)
    begins = np.cumsum(lengths) - lengths + int(MARGIN_S * noise.RATE)
    ends = begins + [_falls_silent(s.sound) for s in samples]
    return quiet_room(whole, seed), ends.tolist()


def _falls_silent(speech: NDArray[np.int16]) -> int:
    """After how many samples: a voice leaves some silence behind what it says."""
    loud = np.abs(speech.astype(int))
    return int(np.flatnonzero(loud > SILENT * loud.max())[-1]) + 1 if loud.any() else len(speech)


def telephone_band(speech: NDArray[np.int16]) -> NDArray[np.int16]:
    """Only 300-3400 Hz, the band of a telephone line (ITU-T G.712, from memory)."""
    spectrum = np.fft.rfft(speech.astype(np.float64))
    hertz = np.fft.rfftfreq(len(speech), 1 / noise.RATE)
    spectrum[(hertz < 300) | (hertz > 3400)] = 0
    return np.fft.irfft(spectrum, len(speech)).round().astype(np.int16)


WAYS: dict[str, Callable[[NDArray[np.int16], int], NDArray[np.int16]]] = {
    CLEAN: quiet_room,
    TELEPHONE: lambda speech, seed: quiet_room(telephone_band(speech), seed),
    "far": channels.far,
    "gain steps": lambda speech, seed: channels.gain_steps(quiet_room(speech, seed), seed),
    TIGHT: lambda speech, seed: channels.cut_tight(speech, False, seed),
    TIGHT_HISS: lambda speech, seed: channels.cut_tight(speech, True, seed),
}
