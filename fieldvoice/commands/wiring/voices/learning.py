"""Learning a voice from lines: fit, hear the lines that were held back, keep it or not."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.commands.wiring.voices import held_back
from fieldvoice.commands.wiring.voices.spoken_lines import MOST_LINES, SpokenLine
from fieldvoice.commands.wiring.voices.usable import usable
from fieldvoice.commands.wiring.voices.used import laid_out
from fieldvoice.ownvoice.adapted_model import with_adaptation
from fieldvoice.ownvoice.criterion import Rivals
from fieldvoice.ownvoice.final_mdl import Weights, read_weights
from fieldvoice.ownvoice.fit import HOW, Line, fit, rivals_of
from fieldvoice.ownvoice.lexicon import read_lexicon
from fieldvoice.ownvoice.mfcc import RATE
from fieldvoice.ownvoice.network import Adaptation
from fieldvoice.ownvoice.sureness import sureness
from fieldvoice.ownvoice.verdict import Hearing, figures, gain, why_no_better
from fieldvoice.ownvoice.voice_file import Figures, Voice, model_hash

FEWEST = 20  # lines: fewer say too little, of the voice and of whether it was learned
NONE, STRENGTHS = 0.0, (1.0, 0.5)  # of the change, strongest first
PART_S, WHOLE_S = 40.0, 55.0  # the longest that a fit to a part of the lines, and to all, may take

Tell = Callable[[float], None]
Lines = Sequence[tuple[SpokenLine, Line]]


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

    Raises CommandError for too few lines, VoiceError for a model that cannot be fitted.
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
    strength, why_not = _chosen(heard)
    before, after = figures(heard[NONE]), figures(heard[strength])
    voice = None
    if not why_not:
        change = model.fitted(lines, WHOLE_S, _part(progress, len(parts), len(parts) + 1))
        voice = Voice(
            name, model_hash(final), datetime.now(UTC).isoformat(timespec="seconds"), len(lines),
            round(sum(len(line.sound) for line, _ in lines) / RATE, 1), before, after,
            _shared(change, strength), sureness(heard[strength]))
    return Learned(before, after, why_not, voice, time.monotonic() - began)


def _held_back(
    model: _Model, lines: Lines, parts: Sequence[Sequence[int]], progress: Tell
) -> Mapping[float, Sequence[Hearing]]:
    """By the strength of the change: each line heard with a fit that it was left out of."""
    heard: dict[float, list[Hearing]] = {strength: [] for strength in (NONE, *STRENGTHS)}
    for number, part in enumerate(parts):
        others = [line for place, line in enumerate(lines) if place not in part]
        change = model.fitted(others, PART_S, _part(progress, number, len(parts) + 1))
        held = [(place, lines[place][0]) for place in part]
        for strength, found in heard.items():
            found += model.heard(change, strength, held)
    return heard


def _chosen(heard: Mapping[float, Sequence[Hearing]]) -> tuple[float, str]:
    """The strongest that may be kept, and ""; else the one that helps most, and why it may not.

    Not the one that helps most of all: the whole is learned from more lines than the parts, so that
    more of it can be trusted than of theirs.
    """
    before = heard[NONE]
    why_not = {strength: why_no_better(before, heard[strength]) for strength in STRENGTHS}
    kept = [strength for strength, why in why_not.items() if not why]
    most = max(STRENGTHS, key=lambda strength: gain(before, heard[strength])[0])
    chosen = kept[0] if kept else most
    return chosen, why_not[chosen]


def _shared(change: Adaptation, strength: float) -> Adaptation:
    return {name: np.float32(strength) * value for name, value in change.items()}


def _part(progress: Tell, number: int, count: int) -> Tell:
    return lambda share: progress((number + share) / count)
