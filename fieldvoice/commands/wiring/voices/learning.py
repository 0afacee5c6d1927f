"""Learning a voice from lines: fit, hear the lines that were held back, keep it or not."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from fieldvoice.acoustics.criterion import Rivals
from fieldvoice.acoustics.final_mdl import Weights, read_weights
from fieldvoice.acoustics.lexicon import read_lexicon
from fieldvoice.acoustics.mfcc import RATE
from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.commands.wiring.voices import held_back
from fieldvoice.commands.wiring.voices.spoken_lines import MOST_LINES, SpokenLine
from fieldvoice.commands.wiring.voices.usable import usable
from fieldvoice.commands.wiring.voices.used import laid_out
from fieldvoice.ownvoice.adapted_model import with_adaptation
from fieldvoice.ownvoice.fit import HOW, Line, fit, rivals_of
from fieldvoice.ownvoice.network import Adaptation
from fieldvoice.ownvoice.sureness import sureness
from fieldvoice.ownvoice.verdict import Hearing, figures, gain, why_no_better
from fieldvoice.ownvoice.voice_file import Figures, Voice, model_hash

FEWEST = 20  # lines: fewer say too little, of the voice and of whether it was learned
NONE, STRENGTHS = 0.0, (1.0, 0.5)  # of the change, strongest first
PART_S, WHOLE_S = 40.0, 55.0  # the longest that a fit to a part of the lines, and to all, may take

Tell = Callable[[float], None]
Lines = Sequence[tuple[SpokenLine, Line]]
Heard = Callable[[float], Sequence[Hearing]]  # at a strength of the change


@dataclass(frozen=True)
class Learned:
    """What came of it."""

    before: Figures  # how lines that were held back are heard without what was learned
    after: Figures  # and with it
    why_not: str  # nothing is kept; "" where something is
    voice: Voice | None
    took_s: float


@dataclass(frozen=True)
class _Model:
    """The model that is fitted."""

    folder: Path
    final: bytes
    weights: Weights
    rivals: Rivals

    def fitted(self, lines: Lines, limit_s: float, tell: Tell) -> Adaptation:
        how = replace(HOW, limit_s=limit_s)
        return fit(self.weights, [line for _, line in lines], self.rivals, how, tell)

    def heard(
        self, change: Adaptation, strength: float, lines: Sequence[tuple[int, SpokenLine]]
    ) -> list[Hearing]:
        """The lines, with so much of a change of the model."""
        if strength == NONE:
            return held_back.heard(self.folder, lines)
        with tempfile.TemporaryDirectory(prefix="fieldvoice-") as folder:
            final = with_adaptation(self.final, _shared(change, strength))
            model = laid_out(self.folder, final, Path(folder) / "voice-tried")
            return held_back.heard(model, lines)


def learn(
    name: str, given: Sequence[SpokenLine], base: Path, skipped: list[str],
    tell: Callable[[str], None], progress: Tell = lambda share: None,
) -> Learned:
    """Fit the model folder `base` to the lines. What cannot be used joins `skipped`.

    Raises CommandError for too few lines, LayoutError for a model that cannot be fitted.
    """
    began = time.monotonic()
    final = (base / "am" / "final.mdl").read_bytes()
    weights, lexicon = read_weights(final), read_lexicon(base)
    model = _Model(base, final, weights, rivals_of(lexicon, len(weights.output.bias)))
    # a sound that was given twice would else be judged by what was learned from it
    once = {line.sound.tobytes(): line for line in given}
    lines = usable(list(once.values())[:MOST_LINES], weights, lexicon, skipped)
    known = [place for place, (line, _) in enumerate(lines) if line.known]
    if len(known) < FEWEST:
        raise CommandError(f"only {len(known)} of {len(given)} lines can be learned from, and "
                           f"{FEWEST} are needed; record more: fieldvoice learn-voice {name}")
    parts = held_back.parts(known)
    tell(f"Learning from {len(lines)} lines, {len(parts)} times without a part of them, to hear "
         "in that part whether it helps.")
    heard = _held_back(model, lines, parts, progress)
    before = heard(NONE)
    strength, after, why_not = _chosen(before, heard)
    voice = None
    if not why_not:
        change = model.fitted(lines, WHOLE_S, _part(progress, len(parts), len(parts) + 1))
        voice = Voice(
            name, model_hash(final), datetime.now(UTC).isoformat(timespec="seconds"), len(lines),
            round(sum(len(line.sound) for line, _ in lines) / RATE, 1), figures(before),
            figures(after), _shared(change, strength), sureness(after))
    return Learned(figures(before), figures(after), why_not, voice, time.monotonic() - began)


def _held_back(
    model: _Model, lines: Lines, parts: Sequence[Sequence[int]], progress: Tell
) -> Heard:
    """Hears each line with a fit that it was left out of, at some strength of the change."""
    changes = [
        model.fitted([line for place, line in enumerate(lines) if place not in part], PART_S,
                     _part(progress, number, len(parts) + 1))
        for number, part in enumerate(parts)]

    def heard(strength: float) -> list[Hearing]:
        return [one for change, part in zip(changes, parts, strict=True)
                for one in model.heard(change, strength, [(n, lines[n][0]) for n in part])]

    return heard


def _chosen(before: Sequence[Hearing], heard: Heard) -> tuple[float, Sequence[Hearing], str]:
    """The strongest that may be kept, how lines are heard with it, and ""; else of the one that
    helps most why it may not.

    Not the one that helps most of all: the whole is learned from more lines than the parts, so that
    more of it can be trusted than of theirs.
    """
    tried: list[tuple[float, Sequence[Hearing], str]] = []
    for strength in STRENGTHS:
        after = heard(strength)
        tried.append((strength, after, why_no_better(before, after)))
        if not tried[-1][2]:
            return tried[-1]
    return max(tried, key=lambda one: gain(before, one[1])[0])


def _shared(change: Adaptation, strength: float) -> Adaptation:
    return {name: np.float32(strength) * value for name, value in change.items()}


def _part(progress: Tell, number: int, count: int) -> Tell:
    return lambda share: progress((number + share) / count)
