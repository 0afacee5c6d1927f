"""What was heard against what was said: words, meaning, and what Fieldvoice would have done."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, fields, is_dataclass
from datetime import timedelta
from decimal import Decimal

from fieldvoice.job.trust import HARMLESS, Trust, judge
from fieldvoice.spoken.intents import Intent, NotUnderstood
from fieldvoice.spoken.parser import understand


@dataclass(frozen=True)
class Result:
    """One decoded sample."""

    said: tuple[str, ...]
    heard: tuple[str, ...]  # empty when nothing, or only talk for others, was heard
    confidences: tuple[float, ...]  # of each heard word
    seconds: float  # of sound
    cpu_s: float  # of one core

    @property
    def confidence(self) -> float:
        """Of the least certain word, as Fieldvoice takes it; 0 without words."""
        return min(self.confidences, default=0.0)


@dataclass(frozen=True)
class Score:
    """Shares are of all sentences; the last four say what becomes of the line on the job."""

    sentences: int
    word_error: float
    sentences_right: float
    meaning_right: float  # heard words mean the same as the said ones
    acted_on: float  # right meaning, taken without a question
    asked_back: float
    wrong_value: float  # a wrong value, length of time or limit accepted without a question
    wrong_command: float  # another wrong intent, other than a harmless question, accepted so
    cpu_per_s: float  # seconds of one core for a second of sound


def align(said: Sequence[str], heard: Sequence[str]) -> list[tuple[str | None, str | None]]:
    """Pair the words at the least edit distance; None stands for a missing or an added word."""
    cost = [[i + j if i * j == 0 else 0 for j in range(len(heard) + 1)]
            for i in range(len(said) + 1)]  # fmt: skip
    for i, s in enumerate(said, 1):
        for j, h in enumerate(heard, 1):
            cost[i][j] = min(
                cost[i - 1][j - 1] + (s != h), cost[i - 1][j] + 1, cost[i][j - 1] + 1
            )
    pairs: list[tuple[str | None, str | None]] = []
    i, j = len(said), len(heard)
    while i or j:
        if i and j and cost[i][j] == cost[i - 1][j - 1] + (said[i - 1] != heard[j - 1]):
            i, j = i - 1, j - 1
            pairs.append((said[i], heard[j]))
        elif i and cost[i][j] == cost[i - 1][j] + 1:
            i -= 1
            pairs.append((said[i], None))
        else:
            j -= 1
            pairs.append((None, heard[j]))
    return pairs[::-1]


def edits(said: Sequence[str], heard: Sequence[str]) -> int:
    """Words missing, added or exchanged."""
    return sum(s != h for s, h in align(said, heard))


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
    trust: Trust
    heard: Intent
    confidence: float

    @property
    def wrong_value(self) -> bool:
        """A wrong value or length of time."""
        return not self.same_meaning and carries_value(self.heard)

    @property
    def wrong_command(self) -> bool:
        """A wrong intent without a value that still changes something."""
        refused = isinstance(self.heard, (NotUnderstood, *HARMLESS))
        return not self.same_meaning and not self.wrong_value and not refused


def judged(result: Result, talk: bool = False) -> Judged:
    """Parse both sides; what was said as `talk` to others has no right meaning but silence."""
    words = " ".join(result.heard)
    heard = understand(words, typed=False)
    trust = judge(heard, result.confidence, words) if words else Trust.IGNORE
    said = understand(" ".join(result.said), typed=False)
    same = not words if talk else _same(said, heard)
    return Judged(same, trust, heard, result.confidence)


def _same(said: Intent, heard: Intent) -> bool:
    if isinstance(said, NotUnderstood) and isinstance(heard, NotUnderstood):
        return said.kind == heard.kind  # "two-ways": either is asked back
    return said == heard


def score(results: Sequence[Result], talk: bool = False) -> Score:
    """Score a set; ValueError for none."""
    if not results:
        raise ValueError("nothing to score")
    all_judged = [judged(r, talk) for r in results]
    accepted = [j for j in all_judged if j.trust is Trust.ACCEPT]

    def share(matches: Iterable[bool]) -> float:
        return sum(matches) / len(results)

    return Score(
        sentences=len(results),
        word_error=sum(edits(r.said, r.heard) for r in results) / sum(len(r.said) for r in results),
        sentences_right=share(r.said == r.heard for r in results),
        meaning_right=share(j.same_meaning for j in all_judged),
        acted_on=share(j.same_meaning for j in accepted),
        asked_back=share(j.trust is Trust.ASK for j in all_judged),
        wrong_value=share(j.wrong_value for j in accepted),
        wrong_command=share(j.wrong_command for j in accepted),
        cpu_per_s=sum(r.cpu_s for r in results) / sum(r.seconds for r in results),
    )


def as_dict(figures: Score) -> dict[str, float]:
    """For JSON, rounded."""
    return {name: round(value, 5) for name, value in asdict(figures).items()}
