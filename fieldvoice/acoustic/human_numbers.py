"""Numbers in a real person's voice: composed from the digit prompts of an open telephone sound set.

The prompts are those of Debian's package asterisk-core-sounds-en-g722 (one speaker, CC BY-SA 3.0),
16 kHz G.722. They are for tests only, never for training, and are not kept here.
"""

from __future__ import annotations

import random
import subprocess
from decimal import Decimal
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldvoice.acoustic.noise import RATE
from fieldvoice.acoustic.samples import Sample
from fieldvoice.acoustic.text import TENS
from fieldvoice.spoken.numbers import ONES
from fieldvoice.spoken.saying import say_number

PROMPTS = {
    **{word: str(n) for n, word in enumerate(ONES)},
    **{word: str(10 * (n + 2)) for n, word in enumerate(TENS)},
    "hundred": "hundred",
    "thousand": "thousand",
}
QUIET = 0.02  # of a prompt's peak: below, at its ends, is silence to cut away
KEPT_S = 0.02  # of that silence stays, for soft consonants
GAP_S = (0.03, 0.14)  # between words, as in careful speech


def cardinal(n: int) -> list[str]:
    """0..99,999 in words, without "and": 19,412 is nineteen thousand four hundred twelve."""
    return say_number(Decimal(n)).split()


def read_prompt(path: Path) -> NDArray[np.float64]:
    """One prompt without the silence at its ends; FileNotFoundError when it is not there."""
    if not path.is_file():
        raise FileNotFoundError(f"no prompt at {path}: give the folder that holds digits/")
    command = ["ffmpeg", "-v", "error", "-i", str(path), "-f", "s16le", "-ar", str(RATE), "-"]
    raw = subprocess.run(command, check=True, capture_output=True).stdout
    sound = np.frombuffer(raw, "<i2").astype(np.float64)
    loud = np.flatnonzero(np.abs(sound) > QUIET * np.abs(sound).max())
    kept = int(KEPT_S * RATE)
    return sound[max(0, loud[0] - kept) : loud[-1] + kept]


def compose(folder: Path, count: int, seed: int) -> list[Sample]:
    """`count` numbers 0..19,999, drawn evenly, from the prompts in FOLDER/digits."""
    rng = random.Random(seed)
    prompts = {w: read_prompt(folder / "digits" / f"{name}.g722") for w, name in PROMPTS.items()}
    return [_joined(cardinal(rng.randint(0, 19_999)), prompts, rng) for _ in range(count)]


def _joined(
    words: list[str], prompts: dict[str, NDArray[np.float64]], rng: random.Random
) -> Sample:
    parts: list[NDArray[np.float64]] = []
    for word in words:
        parts += [prompts[word], np.zeros(int(rng.uniform(*GAP_S) * RATE))]
    return Sample(np.concatenate(parts[:-1]).round().astype(np.int16), tuple(words), "person")
