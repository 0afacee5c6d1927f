"""Write what a GPU machine is to speak: `python -m fieldvoice.training.speech.write_script`."""

from __future__ import annotations

import argparse
import itertools
import random
from collections.abc import Iterator
from pathlib import Path

from fieldvoice.language.decoding_graph import random_sentence
from fieldvoice.training.speech import script, sentences, synthesize
from fieldvoice.training.speech.script import Line

ALONE = 0.15  # share of the lines that are cut to a word or two
DIGITS = 0.12  # share that are digits said one by one
LONGEST = 14  # words: longer sentences do not fit into a training row
SHARPNESS = (1.0, 0.5)  # powers of the graph's chances: as it weighs, and with seldom words in it


def lines(seed: int) -> Iterator[Line]:
    """Half from the decoding graph, half trade phrases, numbers and common words; some cut short,
    some only digits.

    A word or two alone are said as careful speakers say them, each by itself.
    """
    rng, lexicon = random.Random(seed), sentences.lexicon()
    others = sentences.sentences(seed)
    while True:
        graph = rng.random() < 0.5
        words = random_sentence(rng, rng.choice(SHARPNESS)) if graph else next(others).split()
        kind = rng.random()
        if kind < DIGITS:
            words = sentences.digits(rng, rng.choice((1, 1, 2, 3, 3, 4, 5))).split()
        elif kind < DIGITS + ALONE:
            first = rng.randrange(max(1, len(words)))
            words = words[first : first + rng.choice((1, 1, 2))]
        if 0 < len(words) <= LONGEST:
            yield [(word, rng.choice(lexicon[word])) for word in words]


def test_lines(text: str, seed: int) -> Iterator[Line]:
    """Sentences of a test set, one of synthesize.TEXTS, with usual pronunciations."""
    rng, lexicon = random.Random(seed), sentences.lexicon()
    for sentence in synthesize.TEXTS[text](seed):
        words = sentence.split()
        phones = synthesize.choose_phones(words, lexicon, rng, first_only=False)
        yield list(zip(words, phones, strict=True))


def main() -> None:
    """Read the arguments."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--out", type=Path, required=True, help="file to write (.gz)")
    parser.add_argument("--sentences", type=int, default=40_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--text", choices=synthesize.TEXTS, help="of a test set; else training")
    a = parser.parse_args()
    source = test_lines(a.text, a.seed) if a.text else lines(a.seed)
    script.write(a.out, itertools.islice(source, a.sentences))


if __name__ == "__main__":
    main()
