"""The lines that confidence is fitted on: tuning sets as sound, heard under each condition."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from glob import glob
from pathlib import Path

import numpy as np

from fieldvoice.dialogue.belief.evidence import Evidence, gather
from fieldvoice.dialogue.confidence import weighed
from fieldvoice.training.evaluate import listeners, samples
from fieldvoice.training.evaluate.expectation_gain import UNEXPECTED_EVERY, expecting, waiting_for
from fieldvoice.training.evaluate.result_cache import ResultCache, first_digest
from fieldvoice.training.evaluate.samples import CLEAN, MACHINES, Sample
from fieldvoice.training.evaluate.scoring import Expecting, Result, guesses, meaning, nothing
from fieldvoice.training.evaluate.second_opinion import opinion, unchanged

CLIPPED = "clipped"  # with more than fits into 16 bits
CLIPPED_DB = (6.0, 12.0, 18.0)  # so much more, in turn
CONDITIONS = {CLEAN: 1, f"{MACHINES} 20": 2, f"{MACHINES} 10": 1, f"{MACHINES} 5": 1,
              f"{MACHINES} 0": 3, CLIPPED: 2}  # every nth line is heard so  # fmt: skip
TALK = "talk"
TALK_CONDITIONS = {CLEAN: 1, f"{MACHINES} 10": 2}
FULL_SCALE = 32_767
SEED = 7


@dataclass(frozen=True)
class Line:
    """One line as it was heard under a condition."""

    name: str  # of its set
    condition: str
    place: int  # in its set: the same sentence under other conditions has the same one
    result: Result
    talk: bool  # it was not for Fieldvoice
    expected: Expecting = nothing  # what the job waits for


def heard(sets: Path, model: Path, keep: Path | None, only: Sequence[str] = (), every: int = 1
          ) -> list[Line]:  # fmt: skip
    """All lines of all sets below a folder, decoded once and kept.

    `only`: names of sets, if not all; `every`: only every nth sentence of each.
    """
    cache, own, made = ResultCache(keep), first_digest(model), list[listeners.Listener]()
    weigh = opinion(model)
    found = []
    for name, clean in _sets(sets, only, every):
        conditions = TALK_CONDITIONS if name == TALK else CONDITIONS
        for condition, every in conditions.items():
            some = clean[::every]
            decode = partial(_decoded, made, model, condition, some)
            results = cache.results(f"{own}|{condition}|{SEED}", some, decode)
            if weigh is not unchanged:
                results = weigh(results, under(condition, some))
            print(f"{name}, {condition}: {len(results)} lines", file=sys.stderr, flush=True)
            found += [Line(name, condition, place * every, result, name == TALK)
                      for place, result in enumerate(results)]
    return found


def _decoded(
    made: list[listeners.Listener], model: Path, condition: str, clean: list[Sample]
) -> list[Result]:
    """`made` holds the recognizer once it is loaded."""
    if not made:
        made.append(listeners.own(model))
    return listeners.listen(made[0], under(condition, clean))


def _sets(
    folder: Path, only: Sequence[str], every: int
) -> Iterator[tuple[str, list[Sample]]]:
    """Every folder with shards, by its path below `folder`."""
    names = glob("**/*.json", root_dir=folder, recursive=True)
    shards = sorted({(folder / name).parent for name in names})
    if not shards:
        raise FileNotFoundError(f"no shards below {folder}: make them with synthesize.py")
    for one in shards:
        name = one.relative_to(folder).as_posix()
        if not only or name in only:
            yield name, samples.from_shards(one)[::every]


def under(condition: str, clean: list[Sample]) -> list[Sample]:
    """Samples under a condition of samples.py, or "clipped"."""
    if condition != CLIPPED:
        return samples.under(condition, clean, SEED)
    return [_clipped(sample, CLIPPED_DB[place % len(CLIPPED_DB)], SEED + place)
            for place, sample in enumerate(clean)]  # fmt: skip


def _clipped(sample: Sample, decibels: float, seed: int) -> Sample:
    sound = samples.quiet_room(sample.sound, seed).astype(np.float64)
    loud = sound * FULL_SCALE / max(1.0, np.abs(sound).max()) * 10 ** (decibels / 20)
    return replace(sample, sound=np.clip(loud, -FULL_SCALE, FULL_SCALE).round().astype(np.int16))


def on_a_job(lines: list[Line]) -> list[Line]:
    """The same lines while steps are open: four in five are what the step waits for."""
    waits = [waiting_for(meaning(" ".join(line.result.said))) for line in lines]
    others = [*waits[7:], *waits[:7]]
    return [
        replace(line, expected=expecting(other if line.place % UNEXPECTED_EVERY == 0 else this))
        for line, this, other in zip(lines, waits, others, strict=True)
    ]


def evidence(line: Line) -> Evidence | None:
    """Of what it most probably means; None where no words were heard."""
    ranked = weighed(guesses(line.result), line.expected)
    return gather(ranked, line.result.clarity) if ranked and ranked[0].words else None
