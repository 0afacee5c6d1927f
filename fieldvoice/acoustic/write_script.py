"""Write what a GPU machine is to speak: `python -m fieldvoice.acoustic.write_script`."""

from __future__ import annotations

import argparse
import itertools
import math
import random
from collections.abc import Iterator
from pathlib import Path

from fieldvoice.acoustic import script, text
from fieldvoice.acoustic.script import Line
from fieldvoice.spoken.graph import compile_acceptor

LONGEST = 14  # words: longer sentences do not fit into a training row
SHARPNESS = (1.0, 0.5)  # powers of the graph's chances: as it weighs, and with seldom words in it


def grammar_sentences(rng: random.Random) -> Iterator[list[str]]:
    """Endless sentences of the decoding graph."""
    acceptor = compile_acceptor()
    while True:
        sharpness, state, found = rng.choice(SHARPNESS), acceptor.start, list[str]()
        while True:
            ways = acceptor.following.get(state, {})
            end = math.exp(-acceptor.finals[state]) if state in acceptor.finals else 0.0
            chances = [math.exp(-sharpness * cost) for cost, _ in ways.values()]
            drawn = rng.choices([*ways, None], [*chances, end**sharpness if end else 0.0])[0]
            if drawn is None:
                break
            found.append(drawn)
            state = ways[drawn][1]
        yield found


def lines(seed: int) -> Iterator[Line]:
    """Half from the decoding graph, half trade phrases, numbers and common words."""
    rng, lexicon = random.Random(seed), text.lexicon()
    sources = (grammar_sentences(rng), (s.split() for s in text.sentences(seed)))
    while True:
        words = next(rng.choice(sources))
        if 0 < len(words) <= LONGEST:
            yield [(word, rng.choice(lexicon[word])) for word in words]


def main() -> None:
    """Read the arguments."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--out", type=Path, required=True, help="file to write (.gz)")
    parser.add_argument("--sentences", type=int, default=40_000)
    parser.add_argument("--seed", type=int, default=1)
    a = parser.parse_args()
    script.write(a.out, itertools.islice(lines(a.seed), a.sentences))


if __name__ == "__main__":
    main()
