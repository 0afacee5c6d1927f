"""Measure how soon the end of a line is known, and whether lines are cut or run together.

`cd tests && python -m by_hand.line_ends [--sets FOLDER] [--prompts FOLDER] [--lines 48]`. Lines of
the demo without a machine, and those of the test sets that `training/speech/synthesize.py` left in
FOLDER, one after another with a gap, in chunks as of a microphone; then with a machine at 10 dB,
and beside people who talk. A person's prompts, with a pause in the middle of a reading, say
whether it is cut. Figures are of the machine it runs on; nothing here passes or fails.
"""

from __future__ import annotations

import os

os.environ["OMP_NUM_THREADS"] = "1"  # before any library starts threads: one core

import argparse
import random
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import product
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldvoice.commands.wiring.recorded_jobs import read_job, shipped_jobs
from fieldvoice.devices.dozing import Dozing
from fieldvoice.devices.early_end import EarlyEnd
from fieldvoice.devices.recognizer import RATE, Recognizer
from fieldvoice.devices.soundfile import read_sound
from fieldvoice.devices.vosk_recognizer import OWN_MODEL, VoskRecognizer
from fieldvoice.language.intents import NotUnderstood
from fieldvoice.language.line_end import SHORTEST_S, line_end, one_line
from fieldvoice.language.parser import understand
from fieldvoice.training.evaluate import human_numbers
from fieldvoice.training.evaluate.samples import FLOOR, from_shards
from fieldvoice.training.speech.noise import MACHINES, speech_level

Came = tuple[str, float, float]  # words, samples that had come by then, seconds of work on it
CHUNK = RATE // 20  # what a microphone brings at once: 50 ms
LEVEL = 1500.0  # root mean square of speech, int16 steps
QUIETEST = 1 / 3000  # of the loudest frame's power: below is no speech
DECIBELS = 10.0
LATE_S = 0.7  # later ends are listed with --show
ROW = 12  # lines in one stream
GAPS_S = (0.6, 0.8, 1.0, 1.3)
PAUSES_S = (0.3, 0.4, 0.5, 0.6, 0.8)
CONDITIONS = ("quiet", *MACHINES, "babble")
WAYS = {"as the engine ends it": False, "early": True}
NUMBERS = (
    ("four hundred", "twelve"), ("twelve hundred", "fifty"), ("seven", "hundred"),
    ("two", "seventy five"), ("nineteen hundred", "ninety"),
)  # fmt: skip


@dataclass(frozen=True)
class Spoken:
    """A line without silence at its ends."""

    words: str
    sound: NDArray[np.float64]


@dataclass
class Tally:
    """What became of the lines under one condition."""

    said: int = 0
    exact: int = 0
    meant: int = 0
    lost: int = 0  # not heard as they were meant: misheard, cut, or run together
    false: int = 0  # utterances that nobody said: of lines misheard, cut or run together
    late_s: list[float] = field(default_factory=list)
    worked_s: list[float] = field(default_factory=list)
    cpu_s: float = 0.0
    sound_s: float = 0.0

    def __str__(self) -> str:
        """One row of the table."""
        late = np.percentile(self.late_s or [0.0], [10, 50, 90, 100])
        worked = np.median(self.worked_s or [0.0])
        return (
            f"{self.exact:4d} exact {self.meant:4d} meant of {self.said:3d}, lost {self.lost:2d}, "
            f"false {self.false:2d}; end known after {late[1]:.2f} s (10 % {late[0]:.2f}, "
            f"90 % {late[2]:.2f}, worst {late[3]:.2f}), of it worked {worked:.3f}; "
            f"cpu {self.cpu_s / max(1.0, self.sound_s):.4f}"
        )


def trimmed(sound: NDArray[np.int16]) -> NDArray[np.float64]:
    """Speech at one level, without the quiet at its ends."""
    frames = sound[: len(sound) // 160 * 160].astype(np.float64).reshape(-1, 160)
    power = (frames**2).mean(1)
    loud = np.flatnonzero(power > power.max() * QUIETEST)
    return sound[loud[0] * 160 : (loud[-1] + 1) * 160] * (LEVEL / speech_level(sound))


def lines_of(sets: Path | None, count: int) -> dict[str, list[Spoken]]:
    """Lines by where they are from."""
    demo = {
        line.text: line.sound
        for job in shipped_jobs()
        for line in read_job(job).lines
        if line.sound and "," not in line.about and understood(line.text)
    }
    found = {"demo": [Spoken(text, trimmed(read_sound(path))) for text, path in demo.items()]}
    for folder in sorted(sets.iterdir()) if sets else []:
        found[folder.name] = [
            Spoken(" ".join(s.words), trimmed(s.sound)) for s in from_shards(folder)
        ]
    rng = random.Random(4)
    return {name: rng.sample(lines, min(count, len(lines))) for name, lines in found.items()}


def understood(text: str) -> bool:
    """Whether it is a line for Fieldvoice."""
    return not isinstance(understand(text, typed=False), NotUnderstood)


def stream(parts: Sequence[NDArray[np.float64]], gap_s: float, condition: str, seed: int,
           others: Sequence[Spoken]) -> tuple[NDArray[np.int16], list[int]]:  # fmt: skip
    """Sounds one after another after 2 s of the place, and where each ends."""
    gap = np.zeros(round(gap_s * RATE))
    begin = np.zeros(2 * RATE)
    whole = np.concatenate([begin, *(p for part in parts for p in (part, gap)), begin])
    ends = len(begin) + np.cumsum([len(part) + len(gap) for part in parts]) - len(gap)
    rng = np.random.default_rng(seed)
    whole += FLOOR * rng.standard_normal(len(whole))
    if condition != "quiet":
        machine = MACHINES.get(condition)
        noise = machine(len(whole), rng) if machine else babble(len(whole), others, seed)
        whole += noise / noise.std() * LEVEL * 10 ** (-DECIBELS / 20)
    return np.clip(whole.round(), -32768, 32767).astype(np.int16), ends.tolist()


def babble(samples: int, others: Sequence[Spoken], seed: int) -> NDArray[np.float64]:
    """Eight people who talk at once."""
    rng, sound = random.Random(seed), np.zeros(samples)
    for _ in range(8):
        talk = np.concatenate([s.sound for s in rng.sample(list(others), min(12, len(others)))])
        sound += np.roll(np.resize(talk, samples), rng.randrange(samples))
    return sound


def heard(ear: Recognizer, sound: NDArray[np.int16], tally: Tally) -> list[Came]:
    """What comes of a stream."""
    ear.forget()
    found = []
    began = time.process_time()
    for at in range(0, len(sound), CHUNK):
        before = time.process_time()
        utterance = ear.feed(sound[at : at + CHUNK])
        ear.hearing()
        if utterance and utterance.words:
            found.append((utterance.words, at + CHUNK, time.process_time() - before))
    while last := ear.finish():
        found.append((last.words, len(sound), 0.0))
    tally.cpu_s += time.process_time() - began
    tally.sound_s += len(sound) / RATE
    return found


def judge(said: Sequence[str], ends: Sequence[int], found: list[Came],
          tally: Tally, show: bool) -> None:  # fmt: skip
    """Match the utterances with the lines, in their order."""
    meant = [understand(words, typed=False) for words in said]
    got = [understand(words, typed=False) for words, _, _ in found]
    matched = dict(_matched([repr(one) for one in meant], [repr(one) for one in got]))
    taken = set(matched.values())
    tally.said += len(said)
    tally.meant += len(matched)
    tally.exact += sum(said[at] == found[to][0] for at, to in matched.items())
    tally.lost += len(said) - len(matched)
    tally.false += len(found) - len(matched)
    for at, to in matched.items():
        tally.late_s.append((found[to][1] - ends[at]) / RATE + found[to][2])
        tally.worked_s.append(found[to][2])
    if show:
        slow = {said[at]: round((found[to][1] - ends[at]) / RATE, 2) for at, to in matched.items()}
        print("      late:", {words: late for words, late in slow.items() if late > LATE_S})
        lost = [words for at, words in enumerate(said) if at not in matched]
        if lost:
            print("     ", lost, "->", [f[0] for to, f in enumerate(found) if to not in taken])


def _matched(said: list[str], found: list[str]) -> list[tuple[int, int]]:
    """The longest common subsequence, as pairs of places."""
    best: list[list[list[tuple[int, int]]]] = [[[]] * (len(found) + 1)]
    for at, one in enumerate(said):
        row: list[list[tuple[int, int]]] = [[]]
        for to, other in enumerate(found):
            both = [*best[-1][to], (at, to)] if one == other else []
            row.append(max(both, row[-1], best[-1][to + 1], key=len))
        best.append(row)
    return best[-1][-1]


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--sets", type=Path)
    parser.add_argument("--prompts", type=Path)
    parser.add_argument("--lines", type=int, default=48)
    parser.add_argument("--gaps", type=float, nargs="*", default=GAPS_S)
    parser.add_argument("--conditions", nargs="*", default=CONDITIONS)
    parser.add_argument("--ways", nargs="*", default=list(WAYS))
    parser.add_argument("--show", action="store_true")
    args = parser.parse_args()
    sources = lines_of(args.sets, args.lines)
    engine = VoskRecognizer(OWN_MODEL)
    early = EarlyEnd(Dozing(engine), line_end, one_line, SHORTEST_S)
    ears = {name: early if WAYS[name] else engine for name in args.ways}
    others = [line for lines in sources.values() for line in lines]
    for condition, (name, ear) in product(args.conditions, ears.items()):
        for gap in args.gaps:
            total = Tally()
            for lines in sources.values():
                rows(ear, lines, gap, condition, others, total, args.show)
            print(f"{condition:12s} {gap:.1f} s apart  {name:22s} {total}", flush=True)
        for pause in PAUSES_S if args.prompts else ():
            total = Tally()
            pauses(ear, args.prompts, pause, condition, others, total, args.show)
            print(f"{condition:12s} {pause:.1f} s inside {name:22s} {total}", flush=True)


def rows(ear: Recognizer, lines: Sequence[Spoken], gap: float, condition: str,
         others: Sequence[Spoken], total: Tally, show: bool) -> None:  # fmt: skip
    """Lines one after another."""
    for first in range(0, len(lines), ROW):
        row = lines[first : first + ROW]
        sound, ends = stream([line.sound for line in row], gap, condition, first, others)
        judge([line.words for line in row], ends, heard(ear, sound, total), total, show)


def pauses(ear: Recognizer, folder: Path, pause: float, condition: str,
           others: Sequence[Spoken], total: Tally, show: bool) -> None:  # fmt: skip
    """A person's readings with a pause before their second half, three seconds apart."""
    names = human_numbers.NUMBER_WORDS | human_numbers.OTHER_WORDS
    gap = np.zeros(round(0.06 * RATE))

    def say(words: str) -> NDArray[np.float64]:
        sounds = [human_numbers.read_prompt(folder / f"{names[w]}.g722") for w in words.split()]
        return np.concatenate([p for sound in sounds for p in (sound, gap)][:-1])

    said, parts = [], []
    for first, second in [(a, f"{b}{unit}") for a, b in NUMBERS for unit in ("", " p s i")]:
        line = np.concatenate([say(first), np.zeros(round(pause * RATE)), say(second)])
        parts.append(trimmed(line.round().astype(np.int16)))
        said.append(f"{first} {second}")
    sound, ends = stream(parts, 2.0, condition, 5, others)
    judge(said, ends, heard(ear, sound, total), total, show)


if __name__ == "__main__":
    main()
