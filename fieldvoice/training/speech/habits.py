"""What people do to any sentence, in a synthesizer's symbols: taps, swallowed stops, mumbling,
pauses while a gauge is read, a sound of hesitation. What was said stays what it was.
"""

from __future__ import annotations

import random
import re

VOWEL = "[ɑæʌɔWIɛɜAɪiOYʊuəɹ]"
TAPPED = re.compile(f"(?<={VOWEL})t(?=[əɪi])")  # eighty, thirty, water
SWALLOWED = re.compile("t(?= |$)")
HESITATIONS = ("ʌm", "ʌː", "ɜː", "m", "əm")
PAUSES = (" , ", " … ", " ; ")


def native(symbols: str, rng: random.Random) -> str:
    """Half the time T between vowels is a tap; at times T at a word's end is in the throat only."""
    if rng.random() < 0.5:
        symbols = TAPPED.sub("T", symbols)
    if rng.random() < 0.12:
        symbols = SWALLOWED.sub("ʔ", symbols)
    return symbols


def mumbled(symbols: str, rng: random.Random) -> str:
    """One line in ten is said without any stress."""
    return re.sub("[ˈˌ]", "", symbols) if rng.random() < 0.1 else symbols


def hesitant(symbols: str, rng: random.Random) -> str:
    """One line in eight has a pause between two words, one in twenty-five a sound in it."""
    words = symbols.split(" ")
    kind = rng.random()
    if len(words) < 2 or kind > 0.165:
        return symbols
    at = rng.randrange(1, len(words))
    pause = rng.choice(PAUSES)
    between = pause if kind > 0.04 else f"{pause}{rng.choice(HESITATIONS)}{rng.choice(PAUSES)}"
    return f"{' '.join(words[:at])}{between}{' '.join(words[at:])}"
