"""English as people of other regions and languages say it, in the symbols of a synthesizer.

A line keeps its dictionary phones as what was said; only how each sounds is changed, phone by
phone, each with a chance, so that the network learns to take a German's "sree" for "three". The
habits are those that descriptions of these accents agree on (Wells, Accents of English, 1982; Swan
and Smith, Learner English, 2001: both from memory); the chances are ours.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from fieldvoice.training.speech.symbols import KOKORO_PHONES, WEAK

VOWELS = {"AA", "AE", "AH", "AO", "AW", "AY", "EH", "ER", "EY", "IH", "IY", "OW", "OY", "UH", "UW"}
Sounds = Mapping[str, tuple[str, ...]]  # ARPAbet phone: the ways in which it may sound


@dataclass(frozen=True)
class Accent:
    """How phones sound in an accent; a phone may be said in several ways, or not at all ("")."""

    sounds: Sounds
    final: Sounds = field(default_factory=dict)  # at the end of a word
    before_nasal: Sounds = field(default_factory=dict)
    strength: float = 0.8  # chance that a phone follows the accent
    drops_r: bool = False  # behind a vowel, if none follows
    before_cluster: str = ""  # said before an S with a consonant behind it
    after_final: str = ""  # said behind a consonant at the end of a word, one time in three
    swallows: float = 0.0  # chance that T or D behind a consonant at the end is not said
    voices: tuple[str, ...] = ()  # first letters of the voices that have it from their language


GERMAN = Accent(
    {"TH": ("s", "t", "θ"), "DH": ("z", "d"), "W": ("v", "ʋ"), "R": ("ʁ", "ɹ"), "AE": ("ɛ",),
     "V": ("v", "f"), "AH": ("a", "ʌ"), "ER": ("œɐ", "ɜɹ"), "EY": ("eː",), "OW": ("oː",),
     "JH": ("ʧ", "ʤ"), "ZH": ("ʃ",), "AO": ("ɔ",), "AA": ("ɔ", "a")},
    final={"B": ("p",), "D": ("t",), "G": ("k",), "V": ("f",), "Z": ("s",), "JH": ("ʧ",)},
)  # fmt: skip
FRENCH = Accent(
    {"TH": ("s", "t", "f"), "DH": ("z", "d"), "HH": ("", "h"), "R": ("ʁ",), "IH": ("i",),
     "UH": ("u",), "CH": ("ʃ", "ʧ"), "JH": ("ʒ", "ʤ"), "AH": ("œ", "ɔ"), "ER": ("œʁ",),
     "EY": ("e",), "OW": ("o",), "AE": ("a",), "AA": ("ɔ", "a"), "NG": ("ŋɡ", "ŋ")},
    voices=("f",),
)  # fmt: skip
SPANISH = Accent(
    {"TH": ("t", "s"), "DH": ("d", "ð"), "V": ("b", "β"), "Z": ("s",), "SH": ("ʧ", "ʃ"),
     "ZH": ("ʃ",), "JH": ("ʝ", "ʤ"), "Y": ("ʝ", "j"), "IH": ("i",), "AE": ("a",), "AH": ("a", "ɔ"),
     "UH": ("u",), "HH": ("x", "h"), "R": ("ɾ", "r"), "ER": ("ɛɾ", "ɜɹ"), "EY": ("e", "A"),
     "OW": ("o",), "AA": ("a", "o"), "AO": ("o",), "EH": ("e",), "NG": ("n", "ŋ")},
    before_cluster="ɛ", swallows=0.35, voices=("e",),
)  # fmt: skip
ITALIAN = Accent(
    {"TH": ("t", "f"), "DH": ("d",), "HH": ("", "h"), "R": ("r", "ɾ"), "IH": ("i",), "UH": ("u",),
     "AE": ("ɛ", "a"), "AH": ("a", "ɔ"), "ER": ("ɛr", "ɜɹ"), "EY": ("e",), "OW": ("o",),
     "NG": ("ŋɡ",)},
    after_final="ə", voices=("i",),
)  # fmt: skip
INDIAN = Accent(
    {"T": ("ʈ",), "D": ("ɖ",), "TH": ("t", "tʰ"), "DH": ("d",), "V": ("ʋ",), "W": ("ʋ", "w"),
     "R": ("ɾ", "r"), "EY": ("eː",), "OW": ("oː",), "AE": ("ɛ", "æ"), "AO": ("ɔ", "ɑ"),
     "AA": ("ɑ", "ɒ"), "ER": ("əɾ", "ɜɹ"), "ZH": ("ʤ",), "AH": ("ə",)},
    voices=("h",),
)  # fmt: skip
SCOTTISH = Accent(
    {"R": ("ɾ", "r"), "EY": ("eː",), "OW": ("oː",), "UW": ("y", "ʊ"), "UH": ("y", "u"),
     "AW": ("ʌu",), "ER": ("ɛɾ", "ʌɾ"), "IH": ("ɪ", "ɛ"), "AE": ("a",), "AA": ("ɔ",),
     "AY": ("ʌi", "I")},
    final={"T": ("ʔ", "t")},
)  # fmt: skip
SOUTHERN = Accent(
    {"AY": ("aː", "ɑː"), "EY": ("ɛɪ", "A"), "IH": ("ɪə", "ɪ"), "EH": ("ɛə", "ɛ"), "AE": ("æɪ", "æ"),
     "OW": ("Q", "O"), "AO": ("ɑʊ", "ɔ"), "IY": ("ɪi", "i"), "UW": ("ɨu", "u")},
    before_nasal={"EH": ("ɪ", "ɪə")}, final={"NG": ("n", "ŋ")},
)  # fmt: skip
BRITISH = Accent(
    {"OW": ("Q",), "AA": ("ɒ",), "AO": ("ɔː",), "ER": ("ɜː",), "TH": ("θ", "θ", "f"),
     "AE": ("æ", "a")},
    final={"T": ("t", "ʔ")}, drops_r=True, voices=("b",),
)  # fmt: skip
EAST_ASIAN = Accent(
    {"R": ("ɾ", "l", "ɹ"), "L": ("ɾ", "l"), "TH": ("s",), "DH": ("z", "d"), "V": ("b", "v"),
     "IH": ("i",), "UH": ("u",), "AE": ("a", "ɛ"), "AH": ("a",), "ER": ("ɜː", "a"), "EY": ("eː",),
     "OW": ("oː",), "Z": ("z", "ʣ"), "SH": ("ɕ",)},
    after_final="ɯ", strength=0.65, voices=("j", "z"),
)  # fmt: skip
ACCENTS: dict[str, Accent] = {
    "indian": INDIAN, "german": GERMAN, "french": FRENCH, "spanish": SPANISH, "italian": ITALIAN,
    "scottish": SCOTTISH, "southern": SOUTHERN, "british": BRITISH, "east-asian": EAST_ASIAN,
}  # fmt: skip


def accented(
    phones: Sequence[Sequence[str]], accent: Accent, rng: random.Random, strength: float = 1.0
) -> str:
    """Pronunciations (ARPAbet with stress, a list a word) in Kokoro's symbols, with the accent.

    `strength` 0..1 weakens it. A speaker who says a phone in one of several ways keeps to it
    within the line.
    """
    habits = {phone: rng.choice(ways) for phone, ways in accent.sounds.items()}
    return " ".join(_word(word, accent, habits, rng, strength * accent.strength)
                    for word in phones)  # fmt: skip


def _word(
    phones: Sequence[str], accent: Accent, habits: Mapping[str, str], rng: random.Random,
    strength: float,
) -> str:
    bases = [phone.rstrip("012") for phone in phones]
    said = [_before_cluster(bases, accent, rng, strength)]
    for at, phone in enumerate(phones):
        base, last = bases[at], at + 1 == len(bases)
        after = "" if last else bases[at + 1]
        before = bases[at - 1] if at else ""
        if last and base in "TD" and before not in ("", *VOWELS) and rng.random() < accent.swallows:
            continue
        if accent.drops_r and base == "R" and before in VOWELS and after not in VOWELS:
            continue
        said.append(_stress(phone) + _sound(phone, base, last, after, accent, habits, rng,
                                            strength))  # fmt: skip
    if bases[-1] not in VOWELS and rng.random() < strength / 3:
        said.append(accent.after_final)
    return "".join(said)


def _sound(
    phone: str, base: str, last: bool, after: str, accent: Accent, habits: Mapping[str, str],
    rng: random.Random, strength: float,
) -> str:
    plain = WEAK.get(base, KOKORO_PHONES[base]) if phone.endswith("0") else KOKORO_PHONES[base]
    if rng.random() >= strength:
        return plain
    if last and base in accent.final:
        return rng.choice(accent.final[base])
    if after in ("M", "N") and base in accent.before_nasal:
        return rng.choice(accent.before_nasal[base])
    if phone.endswith("0") and base in WEAK and rng.random() < 0.5:
        return plain  # not every speaker gives weak vowels their full sound
    return habits.get(base, plain)


def _before_cluster(
    bases: Sequence[str], accent: Accent, rng: random.Random, strength: float
) -> str:
    cluster = len(bases) > 1 and bases[0] == "S" and bases[1] not in VOWELS
    return accent.before_cluster if cluster and rng.random() < strength else ""


def _stress(phone: str) -> str:
    return {"1": "ˈ", "2": "ˌ"}.get(phone[-1], "")
