"""What speaks for and against the likeliest meaning of a line, as numbers for the model."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import astuple, dataclass, fields

from fieldvoice.dialogue.belief.carries_number import has_number
from fieldvoice.dialogue.belief.clarity import QUIET_DB, Clarity
from fieldvoice.language.intents import Intent, NotUnderstood

OUTSIDE = "[unk]"  # what the recognizer writes for a word outside its vocabulary
MOST_MARGIN = 6.0  # more than e to the sixth is no surer: the recognizer drops what is so unlikely
CLEAR_MARGIN = 3.0  # one in twenty
LOUD_NOISE_DB = 10.0
CLIPPED_UNIT = 1e-4  # share of samples; 3 dB over full scale give 2e-4, 9 dB over 1e-2
COMPETES = 0.01  # a way so likely beside the best one
MOST_RIVALS = 4
MOST_UNLIKE = 2.0
TWINS = frozenset(
    stem + ending
    for ending, stems in (("teen", "thir four fif six seven eigh nine"),
                          ("ty", "thir for fif six seven eigh nine"))
    for stem in stems.split())


@dataclass(frozen=True)
class Weighed:
    """A meaning with its weight: belief in all its wordings, and whether the job waits for it."""

    intent: Intent
    words: str  # its likeliest wording
    weight: float
    expected: bool = False


@dataclass(frozen=True)
class Evidence:
    """One line's; each 0 or more."""

    margin: float  # logarithm of the best meaning's weight over the others', up to CLEAR_MARGIN
    clear_margin: float  # what of it lies above
    sole: float  # 1: no other way was left over; the recognizer may have dropped it too early
    sole_in_noise: float  # the same times `loud_noise`: in noise it drops more
    rivals: float  # how many other meanings compete
    outside: float  # 1: the strongest rival is "no words of ours"
    noise: float  # how many tens of dB the speech is less than QUIET_DB above the noise
    loud_noise: float  # the same of LOUD_NOISE_DB
    unlike: float  # how much likelier, a phone, any sounds are than the words; 0 to MOST_UNLIKE
    twin: float  # 1: a number in it ends in -teen or -ty, which are mixed up
    twin_in_noise: float  # the same times `noise`
    clipped: float  # logarithm of how much was too loud for the microphone
    length: float  # logarithm of how many words
    short: float  # 1: a single word
    number: float  # 1: it carries a number
    numbers: float  # 1: it and its strongest rival do

    def values(self) -> tuple[float, ...]:
        """In the order of NAMES."""
        return astuple(self)


NAMES = tuple(field.name for field in fields(Evidence))


def gather(ranked: Sequence[Weighed], clarity: Clarity) -> Evidence:
    """Of meanings, likeliest first. ValueError without any."""
    if not ranked:
        raise ValueError("no meaning, so no evidence of one")
    best, *others = ranked
    margin = _margin(best, others)
    words = len(best.words.split())
    number = has_number(best.intent)
    noise = max(0.0, QUIET_DB - clarity.above_noise_db) / 10
    twin = float(any(word in TWINS for word in best.words.split()))
    loud_noise = max(0.0, LOUD_NOISE_DB - clarity.above_noise_db) / 10
    return Evidence(
        margin=min(margin, CLEAR_MARGIN),
        clear_margin=max(0.0, margin - CLEAR_MARGIN),
        sole=float(not others),
        sole_in_noise=0.0 if others else loud_noise,
        rivals=float(min(MOST_RIVALS, sum(o.weight > COMPETES * best.weight for o in others))),
        outside=float(bool(others) and _outside(others[0])),
        noise=noise,
        loud_noise=loud_noise,
        unlike=min(MOST_UNLIKE, max(0.0, clarity.unlike)),
        twin=twin,
        twin_in_noise=twin * noise,
        clipped=math.log1p(clarity.clipped_part / CLIPPED_UNIT),
        length=math.log(max(1, words)),
        short=float(words < 2),
        number=float(number),
        numbers=float(number and bool(others) and has_number(others[0].intent)),
    )


def _margin(best: Weighed, others: Sequence[Weighed]) -> float:
    against = sum(other.weight for other in others)
    if against <= 0.0:
        return MOST_MARGIN
    return max(0.0, min(MOST_MARGIN, math.log(best.weight / against)))


def _outside(rival: Weighed) -> bool:
    return isinstance(rival.intent, NotUnderstood) and (
        not rival.words or OUTSIDE in rival.words.split())
