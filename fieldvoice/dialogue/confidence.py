"""How sure a line was heard, and what that allows: the one place with the thresholds."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum

from fieldvoice.dialogue.belief.carries_number import has_number
from fieldvoice.dialogue.belief.clarity import CLEAR, Clarity
from fieldvoice.dialogue.belief.evidence import OUTSIDE, Weighed, gather
from fieldvoice.dialogue.belief.model import Model, shipped
from fieldvoice.language import intents as i

# Confidence in the meaning of a spoken line, 0..1: belief/fitted.json, which was fitted on tuning
# lines: grammar sentences of five voices kept out of training, of six accents, short words and
# numbers, clean, beside machines at 20 to 0 dB and clipped, and talk. Each judged by a fit that had
# not heard its sentence, 91 % would be acted on from 0.90 on (0.49 % with a wrong value or word),
# 84 % from 0.95 (0.38) and from 0.97 (0.35), 83 % from 0.98 (0.35) and 80 % from 0.99 (0.35).
# `python -m fieldvoice.training.belief.fit` fits and tells this anew when the model changes.
ACCEPT_FROM = 0.97  # from here on a line counts as heard
CLIPPED_AT_MOST = 0.9  # of a number that was too loud for the microphone: it is asked back
TORN_AT_MOST = 0.9  # of a single word that may be a number or a command: it is asked about, unless
FAR_LIKELIER = 20.0  # it is so many times likelier
KNOWN = 0.98  # of what speaks against the best meaning speaks for another way that is known
IGNORE_BELOW = 0.15  # below, it was talk to others or too garbled
MOSTLY_STRANGE = 0.5  # share of such words


@dataclass(frozen=True)
class Calibration:
    """How the recognizer's shares of belief weigh against each other."""

    sharpness: float  # the power that shares are raised to
    expected: float  # so many times likelier is what the job waits for now
    expected_alone: float  # the same of a single word, which sound alone tells least of


CALIBRATION = Calibration(sharpness=0.7, expected=2.0, expected_alone=4.0)
# Words that nothing but their place tells apart: the likelier way has the belief in both.
SAME_SOUND = {"to": "two", "for": "four"}
# "Four zero oh five" where "four zero five" was said: the "oh" is laid over the end of the zero,
# and its share is what the grammar alone gives it, one in 18. More than one in 8 tells of sound.
OH, ENDS_LIKE_OH = "oh", ("oh", "zero")
NO_SOUND_OF_ITS_OWN = 8.0


@dataclass(frozen=True)
class Hypothesis:
    """One way of hearing a line, understood."""

    intent: i.Intent
    words: str
    share: float  # of the recognizer's belief, 0..1


@dataclass(frozen=True)
class Interpretation:
    """One of the meanings that a line can have."""

    intent: i.Intent
    words: str  # its likeliest wording
    confidence: float  # that this was meant, 0..1


def best_interpretation(
    guesses: Sequence[Hypothesis], expected: Callable[[i.Intent], bool],
    calibration: Calibration = CALIBRATION, clarity: Clarity = CLEAR, model: Model | None = None,
) -> Interpretation:
    """The likeliest meaning. ValueError without guesses."""
    if not guesses:
        raise ValueError("nothing was guessed, so nothing can be believed")
    return interpretations(guesses, expected, calibration, clarity, model)[0]


def interpretations(
    guesses: Sequence[Hypothesis], expected: Callable[[i.Intent], bool],
    calibration: Calibration = CALIBRATION, clarity: Clarity = CLEAR, model: Model | None = None,
) -> list[Interpretation]:
    """All meanings, likeliest first; guesses that mean the same count together."""
    ranked = weighed(guesses, expected, calibration)
    if not ranked:
        return []
    best, *others = ranked
    sure = (model or shipped()).confidence(gather(ranked, clarity))
    if _short_word_decides(ranked):
        sure = min(sure, TORN_AT_MOST)
    if clarity.clipped and has_number(best.intent):
        sure = min(sure, CLIPPED_AT_MOST)
    against = sum(other.weight for other in others)
    part = min(sure, KNOWN * (1.0 - sure) * best.weight / against) if against else 0.0
    return [Interpretation(best.intent, best.words, sure)] + [
        Interpretation(o.intent, o.words, part * (o.weight / best.weight)) for o in others]


def _short_word_decides(ranked: Sequence[Weighed]) -> bool:
    """Whether a single word is a command or a number, and which of them is hardly known.

    "Nine" or "no", "five" or "back", "one" or "what": they share most of their sound.
    """
    best, *others = ranked
    if " " in best.words:
        return False
    number = has_number(best.intent)
    return any(
        " " not in other.words and has_number(other.intent) != number
        and other.weight * FAR_LIKELIER > best.weight
        for other in others if not isinstance(other.intent, i.NotUnderstood)
    )


def weighed(
    guesses: Sequence[Hypothesis], expected: Callable[[i.Intent], bool],
    calibration: Calibration = CALIBRATION,
) -> list[Weighed]:
    """All meanings with their weights, heaviest first."""
    weights: dict[i.Intent, float] = {}
    likeliest: dict[i.Intent, Hypothesis] = {}
    for guess in _told_apart(guesses):
        meant = guess.intent
        weight: float = guess.share**calibration.sharpness
        weights[meant] = weights.get(meant, 0.0) + _odds(guess, expected, calibration) * weight
        likeliest[meant] = max(likeliest.get(meant, guess), guess, key=lambda g: g.share)
    return [
        Weighed(meant, likeliest[meant].words, weight, expected(meant))
        for meant, weight in sorted(weights.items(), key=lambda item: -item[1])
    ]


def _odds(
    guess: Hypothesis, expected: Callable[[i.Intent], bool], calibration: Calibration
) -> float:
    if not expected(guess.intent):
        return 1.0
    return calibration.expected if " " in guess.words else calibration.expected_alone


def _told_apart(guesses: Sequence[Hypothesis]) -> list[Hypothesis]:
    """Guesses that sound different; of those that sound the same the likeliest, with all shares."""
    kept: dict[tuple[str, ...], Hypothesis] = {}
    for guess in sorted(guesses, key=lambda g: -g.share):
        sound = tuple(SAME_SOUND.get(word, word) for word in guess.words.split())
        same = sound if sound in kept else _without_put_in(sound, guess.share, kept)
        if same is None:
            kept[sound] = guess
        else:
            kept[same] = replace(kept[same], share=kept[same].share + guess.share)
    return list(kept.values())


def _without_put_in(
    sound: tuple[str, ...], share: float, kept: Mapping[tuple[str, ...], Hypothesis]
) -> tuple[str, ...] | None:
    """The far likelier guess that has one "oh" less, where the sound of one stood already."""
    for at in range(1, len(sound)):
        rest = (*sound[:at], *sound[at + 1 :])
        if (sound[at] == OH and sound[at - 1] in ENDS_LIKE_OH and rest in kept
                and share * NO_SOUND_OF_ITS_OWN < kept[rest].share):
            return rest
    return None


class Decision(Enum):
    """What to do with a line."""

    ACCEPT = "accept"
    ASK = "ask"
    IGNORE = "ignore"


def decide(
    intent: i.Intent, confidence: float | None, words: str, *, only_reads: bool
) -> Decision:
    """Accept, ask back or ignore a line; typed lines (no confidence) are always accepted.

    `only_reads`: wrongly heard, this intent costs nothing, so it is not asked back. A spoken line
    that is not understood and mostly outside the vocabulary was talk to others.
    """
    if confidence is None:
        return Decision.ACCEPT
    if isinstance(intent, i.NotUnderstood) and _strange_share(words) >= MOSTLY_STRANGE:
        return Decision.IGNORE
    if confidence >= ACCEPT_FROM:
        return Decision.ACCEPT
    if confidence < IGNORE_BELOW or _is_no_sentence(intent):
        return Decision.IGNORE
    return Decision.ACCEPT if only_reads or isinstance(intent, i.NotUnderstood) else Decision.ASK


def _is_no_sentence(intent: i.Intent) -> bool:
    """Words that no rule has; what is heard in order to be asked back (a range) is a sentence."""
    return isinstance(intent, i.NotUnderstood) and intent.kind == "unknown"


def _strange_share(words: str) -> float:
    heard = words.split()
    return heard.count(OUTSIDE) / len(heard) if heard else 0.0
