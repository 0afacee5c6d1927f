"""A real person in the test sets: lines composed from the prompts of an open telephone sound set.

The prompts are those of Debian's package asterisk-core-sounds-en-g722 (one speaker, CC BY-SA 3.0),
16 kHz G.722. A second speaker's ten digits are those of the package spokennumbers (MIT), which does
not say how they were recorded. All are for tests only, never for training, and are not kept here.
"""

from __future__ import annotations

import math
import random
import subprocess
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldvoice.language.decoding_graph import Acceptor
from fieldvoice.language.numbers import ONES
from fieldvoice.language.speech_text import say_number
from fieldvoice.training.evaluate.samples import Sample
from fieldvoice.training.speech.noise import RATE
from fieldvoice.training.speech.sentences import TENS

Prompts = dict[str, NDArray[np.float64]]
NUMBER_WORDS = {
    **{word: f"digits/{n}" for n, word in enumerate(ONES)},
    **{word: f"digits/{10 * (n + 2)}" for n, word in enumerate(TENS)},
    "hundred": "digits/hundred",
    "thousand": "digits/thousand",
}
# every other word of the grammar that was recorded by itself
OTHER_WORDS = {
    "oh": "digits/oh", "minus": "digits/minus", "at": "digits/at", "pound": "digits/pound",
    "and": "vm-and", "minute": "minute", "minutes": "minutes", "second": "second",
    "seconds": "seconds", "hours": "hours", "is": "is", "for": "for", "no": "vm-no",
    "last": "vm-last", "number": "number", "time": "time", "removed": "removed", "added": "added",
    **{letter: f"letters/{letter}" for letter in "psigcf"},
}  # fmt: skip
QUIET = 0.02  # of a prompt's peak: below, at its ends, is silence to cut away
KEPT_S = 0.02  # of that silence stays, for soft consonants
GAP_S = (0.03, 0.14)  # between words, as in careful speech
LIKELIER_ENDS = 0.5  # chance to end a line where it can end
SENTENCE_S = 0.9  # prompts from this length on are whole phrases: talk that is not for Fieldvoice


def cardinal(n: int) -> list[str]:
    """0..99,999 in words, without "and": 19,412 is nineteen thousand four hundred twelve."""
    return say_number(Decimal(n)).split()


def read_prompt(path: Path) -> NDArray[np.float64]:
    """One prompt without the silence at its ends; FileNotFoundError when it is not there."""
    if not path.is_file():
        raise FileNotFoundError(f"no prompt at {path}: give the folder that holds digits/")
    sound = decoded(path)
    loud = np.flatnonzero(np.abs(sound) > QUIET * np.abs(sound).max())
    kept = int(KEPT_S * RATE)
    return sound[max(0, loud[0] - kept) : loud[-1] + kept] if len(loud) else sound[:0]


def decoded(path: Path) -> NDArray[np.float64]:
    """Any sound file as one channel at 16 kHz, in int16 steps."""
    command = ["ffmpeg", "-v", "error", "-i", str(path), "-f", "s16le", "-ac", "1",
               "-ar", str(RATE), "-"]  # fmt: skip
    raw = subprocess.run(command, check=True, capture_output=True).stdout
    return np.frombuffer(raw, "<i2").astype(np.float64)


def numbers(folder: Path, count: int, seed: int) -> list[Sample]:
    """`count` numbers 0..19,999, drawn evenly."""
    rng = random.Random(seed)
    prompts = {word: read_prompt(folder / f"{name}.g722") for word, name in NUMBER_WORDS.items()}
    return [_joined(cardinal(rng.randint(0, 19_999)), prompts, rng) for _ in range(count)]


def digit_strings(folder: Path, count: int, seed: int) -> list[Sample]:
    """Each digit of a second speaker alone, and `count` strings of three to five, one by one.

    `folder` holds 0.wav to 9.wav; no string begins with a nought, which no number does.
    """
    rng = random.Random(seed)
    prompts = {word: read_prompt(folder / f"{n}.wav") for n, word in enumerate(ONES[:10])}
    strings = [[rng.choice(ONES[1:10]), *rng.choices(ONES[:10], k=rng.randint(2, 4))]
               for _ in range(count)]  # fmt: skip
    return [_joined(words, prompts, rng) for words in [*([w] for w in prompts), *strings]]


def readings(folder: Path, acceptor: Acceptor, count: int, seed: int) -> list[Sample]:
    """`count` different sentences of the grammar that the prompts' words can say."""
    rng = random.Random(seed)
    files = NUMBER_WORDS | OTHER_WORDS
    prompts = {word: read_prompt(folder / f"{name}.g722") for word, name in files.items()}
    found: dict[tuple[str, ...], Sample] = {}
    for sentence in sayable(acceptor, set(prompts), rng):
        if len(found) == count:
            break
        if sentence not in found:
            found[sentence] = _joined(list(sentence), prompts, rng)
    return list(found.values())


def sayable(acceptor: Acceptor, vocabulary: set[str], rng: random.Random
            ) -> Iterator[tuple[str, ...]]:  # fmt: skip
    """Endless sentences of more than one word that need no word outside the vocabulary."""
    alive = _leading_to_an_end(acceptor, vocabulary)
    while True:
        state, words = acceptor.start, list[str]()
        while True:
            ways = {word: (cost, target)
                    for word, (cost, target) in acceptor.following.get(state, {}).items()
                    if word in vocabulary and target in alive}  # fmt: skip
            if state in acceptor.finals and (not ways or rng.random() < LIKELIER_ENDS):
                break
            chances = [math.exp(-cost) for cost, _ in ways.values()]
            words.append(rng.choices(list(ways), chances)[0])
            state = ways[words[-1]][1]
        if len(words) > 1:
            yield tuple(words)


def _leading_to_an_end(acceptor: Acceptor, vocabulary: set[str]) -> set[int]:
    alive, before = set(acceptor.finals), -1
    while before != len(alive):
        before = len(alive)
        alive |= {source for source, word, _, target in acceptor.arcs
                  if word in vocabulary and target in alive}  # fmt: skip
    return alive


def phrases(folder: Path) -> list[Sample]:
    """Whole phrases of the telephone: a person's talk that is not for Fieldvoice."""
    found = []
    for path in sorted(folder.glob("*.g722")):
        sound = read_prompt(path)
        if len(sound) >= SENTENCE_S * RATE:
            found.append(Sample(sound.round().astype(np.int16), (), path.stem))
    return found


def _joined(words: list[str], prompts: Prompts, rng: random.Random) -> Sample:
    parts: list[NDArray[np.float64]] = []
    for word in words:
        parts += [prompts[word], np.zeros(int(rng.uniform(*GAP_S) * RATE))]
    return Sample(np.concatenate(parts[:-1]).round().astype(np.int16), tuple(words), "person")
