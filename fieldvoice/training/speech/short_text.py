"""Short lines to speak: single words of the grammar, and numbers as people read them from gauges.

Every line is a sentence of the spoken grammar; each function gives the same lines for a seed.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from functools import cache

from fieldvoice.language.decoding_graph import Acceptor, compile_acceptor
from fieldvoice.language.numbers import ONES
from fieldvoice.training.speech.sentences import cardinal

DIGITS = ONES[:10]
FLATTENED = 0.5  # power of a word's chance in the grammar: seldom commands are said too
ONE_BY_ONE = 0.5  # share of the numbers that are said digit by digit
OH = 0.5  # chance that a nought inside a number is "oh"
READ = {  # how a gauge is read -> how often, beside the others
    "point": 3, "hundreds": 2, "pair": 3, "beside oh": 1, "whole": 3, "part": 1,
}  # fmt: skip


def short(seed: int) -> Iterator[str]:
    """Endless single words: half of them digits, half one-word commands and answers."""
    rng, chances = random.Random(seed), commands()
    while True:
        if rng.random() < 0.5:
            yield rng.choice(DIGITS)
        else:
            yield rng.choices(list(chances), list(chances.values()))[0]


@cache
def _numbers() -> Acceptor:
    return compile_acceptor(root="number")


@cache
def commands() -> dict[str, float]:
    """Every single word that is a sentence but no number, with its chance made more even."""
    acceptor = compile_acceptor()
    first = acceptor.following[acceptor.start]
    return {
        word: math.exp(-FLATTENED * (cost + acceptor.finals[target]))
        for word, (cost, target) in sorted(first.items())
        if target in acceptor.finals and _numbers().cost([word]) is None
    }


def digits(seed: int) -> Iterator[str]:
    """Endless numbers: strings of three to five digits, and figures as gauges are read aloud."""
    rng = random.Random(seed)
    while True:
        line = string(rng) if rng.random() < ONE_BY_ONE else read_aloud(rng)
        if _numbers().cost(line.split()) is not None:
            yield line


def string(rng: random.Random) -> str:
    """Three to five digits, one by one: four one two."""
    more = [_figure(rng) for _ in range(rng.randint(2, 4))]
    return " ".join([rng.choice(DIGITS[1:]), *more])


def _figure(rng: random.Random) -> str:
    digit = rng.choice(DIGITS)
    return "oh" if digit == "zero" and rng.random() < OH else digit


def read_aloud(rng: random.Random) -> str:
    """A figure as it is read from a gauge: point five, twelve hundred, four twelve, one oh five."""
    kind = rng.choices(list(READ), list(READ.values()))[0]
    if kind == "point":
        before = rng.choice(["", "zero ", *[cardinal(rng.randint(1, 120), rng) + " "] * 3])
        return f"{before}point {rng.choice(DIGITS)}" + rng.choice(["", "", f" {_figure(rng)}"])
    if kind == "hundreds":
        return cardinal(rng.randint(1, 99), rng) + " hundred"
    if kind == "pair":
        return f"{cardinal(rng.randint(1, 99), rng)} {cardinal(rng.randint(10, 99), rng)}"
    if kind == "beside oh":
        return f"{cardinal(rng.randint(1, 99), rng)} oh {rng.choice(DIGITS[1:])}"
    if kind == "part":
        return f"{cardinal(rng.randint(1, 20), rng)} and a {rng.choice(['half', 'quarter'])}"
    return cardinal(rng.randint(10, rng.choice([99, 999, 2000, 20_000])), rng)
