"""What was heard against what was said: words, meaning, and what Fieldvoice would have done."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict, dataclass, fields, is_dataclass
from datetime import timedelta
from decimal import Decimal
from functools import cache

from fieldvoice.dialogue.assistant import decide
from fieldvoice.dialogue.belief.clarity import QUIET_DB, Clarity
from fieldvoice.dialogue.belief.model import Model
from fieldvoice.dialogue.confidence import (
    CALIBRATION,
    Calibration,
    Decision,
    Hypothesis,
    Interpretation,
    best_interpretation,
)
from fieldvoice.dialogue.registry import ONLY_READ
from fieldvoice.language.intents import Intent, NotUnderstood
from fieldvoice.language.parser import understand
from fieldvoice.training.evaluate.alignment import edits

Expecting = Callable[[Intent], bool]


@dataclass(frozen=True)
class Result:
    """One decoded sample."""

    said: tuple[str, ...]  # empty when it was not for Fieldvoice and its words are not known
    heard: tuple[str, ...]  # empty when nothing, or only talk for others, was heard
    confidences: tuple[float, ...]  # of each heard word
    seconds: float  # of sound
    cpu_s: float  # of one core
    ways: tuple[tuple[str, float], ...] = ()  # all wordings with their shares of belief
    above_noise_db: float = QUIET_DB  # of the speech
    clipped_part: float = 0.0  # of the samples
    unlike: float = 0.0  # how much likelier, a phone, any sounds are than the words

    @property
    def clarity(self) -> Clarity:
        """How clearly it was to be heard."""
        return Clarity(self.above_noise_db, self.clipped_part, self.unlike)


@dataclass(frozen=True)
class Score:
    """Shares are of all sentences."""

    sentences: int
    hours: float  # of sound
    word_error: float
    sentences_right: float
    meaning_right: float  # believed to mean what the said words mean
    values_right: float  # of the lines with a number or a length of time: all of it right
    acted_on: float  # right meaning, taken without a question
    asked_back: float
    wrong_value: float  # a wrong value, length of time or limit accepted without a question
    wrong_command: float  # another wrong intent, other than a harmless question, accepted so
    harmless: float  # a wrong question that changes nothing, answered
    wrong_if_believed: float  # wrong values and commands, were every line believed
    cpu_per_s: float  # seconds of one core for a second of sound


def carries_value(thing: object) -> bool:
    """Whether an intent holds a number or a length of time."""
    if isinstance(thing, tuple):
        return any(carries_value(t) for t in thing)
    if is_dataclass(thing):
        return any(carries_value(getattr(thing, f.name)) for f in fields(thing))
    return isinstance(thing, Decimal | timedelta)


@dataclass(frozen=True)
class Judged:
    """What Fieldvoice makes of one result."""

    same_meaning: bool
    decision: Decision
    said: Intent
    heard: Intent
    confidence: float  # in the meaning

    @property
    def wrong_value(self) -> bool:
        """A wrong value or length of time."""
        return not self.same_meaning and carries_value(self.heard)

    @property
    def wrong_command(self) -> bool:
        """A wrong intent without a value that still changes something."""
        refused = isinstance(self.heard, (NotUnderstood, *ONLY_READ))
        return not self.same_meaning and not self.wrong_value and not refused

    @property
    def asked(self) -> bool:
        """Answered with a question: whether it was meant, or which of two things."""
        unclear = self.decision is Decision.ACCEPT and isinstance(self.heard, NotUnderstood)
        return unclear or self.decision is Decision.ASK

    @property
    def harmless(self) -> bool:
        """A wrong intent that changes nothing but is answered."""
        return not self.same_meaning and isinstance(self.heard, ONLY_READ)


def nothing(_: Intent) -> bool:
    """The job waits for nothing in particular."""
    return False


def judged(
    result: Result, talk: bool = False, expected: Expecting = nothing,
    calibration: Calibration = CALIBRATION, model: Model | None = None,
) -> Judged:
    """Understand both sides; `talk` to others has no right meaning but silence."""
    best = _best(result, expected, calibration, model)
    decision = Decision.IGNORE
    if best.words:
        decision = decide(best.intent, best.confidence, best.words)
    said = meaning(" ".join(result.said))
    same = not best.words if talk else _same(said, best.intent)
    return Judged(same, decision, said, best.intent, best.confidence)


def guesses(result: Result) -> list[Hypothesis]:
    """Its ways of hearing, understood."""
    return [Hypothesis(meaning(words), words, share) for words, share in result.ways]


def _best(
    result: Result, expected: Expecting, calibration: Calibration, model: Model | None
) -> Interpretation:
    """Of the ways of hearing where there are several, else of the words."""
    words = " ".join(result.heard)
    if not result.ways:
        return Interpretation(meaning(words), words, min(result.confidences, default=0.0))
    return best_interpretation(guesses(result), expected, calibration, result.clarity, model)


@cache
def meaning(words: str) -> Intent:
    """What spoken words mean."""
    return understand(words, typed=False)


def _same(said: Intent, heard: Intent) -> bool:
    if isinstance(said, NotUnderstood) and isinstance(heard, NotUnderstood):
        return said.kind == heard.kind  # "two-ways": either is asked back
    return said == heard


def score(results: Sequence[Result], talk: bool = False) -> Score:
    """Score a set; ValueError for none."""
    if not results:
        raise ValueError("nothing to score")
    said_words = sum(len(r.said) for r in results)
    seconds = sum(r.seconds for r in results)
    return Score(
        sentences=len(results),
        hours=seconds / 3600,
        word_error=sum(edits(r.said, r.heard) for r in results) / max(1, said_words),
        sentences_right=sum(r.said == r.heard for r in results) / len(results),
        **shares([judged(r, talk) for r in results]),
        cpu_per_s=sum(r.cpu_s for r in results) / seconds,
    )


def shares(lines: Sequence[Judged]) -> dict[str, float]:
    """The fields of a score that follow from what becomes of the lines."""
    accepted = [line for line in lines if line.decision is Decision.ACCEPT]
    valued = [line.same_meaning for line in lines if carries_value(line.said)]

    def share(matches: Iterable[bool]) -> float:
        return sum(matches) / len(lines)

    return {
        "meaning_right": share(line.same_meaning for line in lines),
        "values_right": sum(valued) / len(valued) if valued else 0.0,
        "acted_on": share(line.same_meaning for line in accepted),
        "asked_back": share(line.asked for line in lines),
        "wrong_value": share(line.wrong_value for line in accepted),
        "wrong_command": share(line.wrong_command for line in accepted),
        "harmless": share(line.harmless for line in accepted),
        "wrong_if_believed": share(line.wrong_value or line.wrong_command for line in lines),
    }


def outcomes(lines: Sequence[Judged]) -> dict[str, float]:
    """What becomes of lines, each counted once; the shares add to 1.

    Acted on as meant, which for a line that the grammar always answers with a question is that
    question; asked back without need; wrong: another value or command taken; lost: not taken for a
    line at all, or another question answered that changes nothing, so that it must be said again.
    """
    found = Counter(_outcome(line) for line in lines)
    return {name: found[name] / len(lines) for name in OUTCOMES}


OUTCOMES = ("asked back", "acted on", "wrong", "lost")


def _outcome(line: Judged) -> str:
    if line.decision is Decision.ACCEPT and line.same_meaning:
        return "acted on"
    if line.asked:
        return "asked back"
    if line.decision is not Decision.ACCEPT:
        return "lost"
    return "wrong" if line.wrong_value or line.wrong_command else "lost"


def as_dict(figures: Score) -> dict[str, float]:
    """For JSON, rounded."""
    return {name: round(value, 5) for name, value in asdict(figures).items()}
