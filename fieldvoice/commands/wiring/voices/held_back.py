"""How lines that were held back are heard: without what was learned, and with it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldvoice.commands.wiring.heard_line import decision, meanings
from fieldvoice.commands.wiring.models import load_recognizer
from fieldvoice.commands.wiring.voices.spoken_lines import SpokenLine
from fieldvoice.language.parser import understand
from fieldvoice.ownvoice.disturbed import beside_noise, in_a_quiet_room
from fieldvoice.ownvoice.voice_file import Figures

EVERY = 5  # one line in so many is held back
NOISE_DB = 8.0  # that the speech is louder than the noise of the second hearing


def split(count: int) -> tuple[list[int], list[int]]:
    """Numbers of the lines to learn from, and of those held back: spread evenly over all."""
    held = [k for k in range(count) if k % EVERY == EVERY // 2]
    return [k for k in range(count) if k % EVERY != EVERY // 2], held


def figures(model: Path, lines: Sequence[SpokenLine]) -> Figures:
    """Each line heard twice, quiet and beside noise; the same noise every time."""
    recognizer = load_recognizer(model)
    exact = meaning = taken = 0
    for line in lines:
        said = understand(line.words, typed=False)
        for sound in _twice(line.sound):
            heard = recognizer.hear(sound)
            found = meanings([(way.words, way.share) for way in heard.ways] or [("", 1.0)])[0]
            same = found.intent == said
            exact += heard.words == line.words
            meaning += same
            taken += same and decision(found) == "taken"
    return Figures(2 * len(lines), exact, meaning, taken)


def _twice(sound: NDArray[np.int16]) -> list[NDArray[np.int16]]:
    rng = np.random.default_rng(len(sound))
    whole = in_a_quiet_room(sound, rng)
    disturbed = beside_noise(whole, sound, NOISE_DB, tilt=0.5, rng=rng)
    return [np.clip(s.round(), -32_768, 32_767).astype(np.int16) for s in (whole, disturbed)]
