"""Learning a voice from lines: fit, hear the lines that were held back, keep it or not."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable, Sequence
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
from fieldvoice.ownvoice.final_mdl import read_weights
from fieldvoice.ownvoice.fit import HOW, fit, rivals_of
from fieldvoice.ownvoice.lexicon import read_lexicon
from fieldvoice.ownvoice.mfcc import RATE
from fieldvoice.ownvoice.voice_file import Figures, Voice, model_hash

FEWEST = 20  # lines: fewer say too little, of the voice and of whether it was learned
STRENGTHS = (1.0, 0.5)  # of the change; the first with which nothing is heard worse is kept


@dataclass(frozen=True)
class Learned:
    """What came of it."""

    voice: Voice  # with the figures of the last strength that was tried
    better: bool  # whether it may be kept
    took_s: float


def learn(
    name: str, given: Sequence[SpokenLine], base: Path, skipped: list[str],
    tell: Callable[[str], None], progress: Callable[[float], None] = lambda share: None,
) -> Learned:
    """Fit the model folder `base` to the lines. What cannot be used joins `skipped`.

    Raises CommandError for too few lines, VoiceError for a model that cannot be fitted.
    """
    began = time.monotonic()
    final = (base / "am" / "final.mdl").read_bytes()
    weights, lexicon = read_weights(final), read_lexicon(base)
    lines = usable(given[:MOST_LINES], weights, lexicon, skipped)
    if len(lines) < FEWEST:
        raise CommandError(f"only {len(lines)} of {len(given)} lines can be learned from, and "
                           f"{FEWEST} are needed; record more: fieldvoice learn-voice {name}")
    to_learn, to_hear = held_back.split(len(lines))
    kept_out = [lines[k][0] for k in to_hear]
    tell(f"Learning from {len(to_learn)} lines; {len(to_hear)} are held back to hear whether it "
         "helps.")
    before = held_back.figures(base, kept_out)
    change = fit(weights, [lines[k][1] for k in to_learn],
                 rivals_of(lexicon, len(weights.output.bias)), HOW, progress)
    seconds = sum(len(lines[k][0].sound) for k in to_learn) / RATE
    voice = Voice(name, model_hash(final), datetime.now(UTC).isoformat(timespec="seconds"),
                  len(to_learn), round(seconds, 1), before, before, change)
    for strength in STRENGTHS:
        changed = {key: np.float32(strength) * value for key, value in change.items()}
        after = _heard_with(base, with_adaptation(final, changed), kept_out)
        voice = replace(voice, after=after, adaptation=changed)
        if after.as_good_as(before):
            return Learned(voice, True, time.monotonic() - began)
    return Learned(voice, False, time.monotonic() - began)


def _heard_with(base: Path, final: bytes, lines: Sequence[SpokenLine]) -> Figures:
    with tempfile.TemporaryDirectory(prefix="fieldvoice-") as folder:
        return held_back.figures(laid_out(base, final, Path(folder) / "voice-tried"), lines)
