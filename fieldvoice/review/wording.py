"""What every part of the report says things with: names, times, and who said what."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, tzinfo
from decimal import InvalidOperation
from urllib.parse import quote

from fieldvoice.jobstate.records import ReadingValue
from fieldvoice.jobstate.state import JobState
from fieldvoice.quantity.quantities import speakable
from fieldvoice.quantity.shares import percent
from fieldvoice.quantity.unit_systems import US, beside
from fieldvoice.quantity.units import say
from fieldvoice.review.hearing import AskedBack
from fieldvoice.review.logged_job import LoggedJob
from fieldvoice.review.page_sound import Clip as Clip
from fieldvoice.review.page_sound import PageSounds
from fieldvoice.review.vacuum import Break

GOOD = ("tight", "passed")
BAD = ("wet", "leaking", "failed")
OPEN = ("not-yet-clear", "gaining")


@dataclass(frozen=True)
class Quote:
    """A line as it is quoted."""

    words: str | None  # None: they stand beside it already
    facts: str  # "voice, 93% sure"
    clip: Clip | None
    question: str = ""  # that was asked back before the line counted
    answer: Quote | None = None  # what was said to that


@dataclass(frozen=True)
class Context:
    """What a part of the report is made from."""

    job: LoggedJob
    clips_at: str | None  # URL that clips are found under; "" beside the page, None nowhere
    zone: tzinfo | None  # None: as the log has it
    units: str = US  # the reader's; of quantity/unit_systems.py
    breaks: tuple[Break, ...] = ()
    asked_back: Mapping[int, AskedBack] = field(default_factory=dict)  # by the answer's seq
    sounds: PageSounds | None = None  # None: they are linked under `clips_at`, unseen

    @property
    def state(self) -> JobState:
        """The job's state."""
        return self.job.state

    def local(self, at: datetime) -> datetime:
        """The time in the zone of the report."""
        return at if self.zone is None else at.astimezone(self.zone)

    def clock(self, at: datetime | None) -> str:
        """Time of day; with the date where that differs from the job's first day."""
        if at is None:
            return ""
        local = self.local(at)
        first = self.local(self.state.history.began or at)
        return f"{local:%H:%M:%S}" if local.date() == first.date() else f"{local:%d %b %H:%M:%S}"

    def heard(self, line: int | None, *, unless: str = "") -> Quote | None:
        """Who said so: the words, their source, the confidence, and the sound.

        What was asked back begins with its first hearing, and the question and answer follow.
        `unless`: words that stand beside it already and are not repeated.
        """
        asked = None if line is None else self.asked_back.get(line)
        first = None if asked is None else self.heard(asked.line, unless=unless)
        answer = self._line(line, unless)
        if asked is None or first is None:
            return answer
        return _with_answer(first, asked.question, answer)

    def _line(self, line: int | None, unless: str) -> Quote | None:
        heard = self.state.history.line(line)
        if heard is None:
            return None
        facts = [heard.source]
        if heard.confidence is not None:
            facts.append(f"{percent(heard.confidence)} sure")
        if heard.outcome == "asked-back":
            facts.append("read back first")
        words = None if heard.words == unless else heard.words
        return Quote(words, ", ".join(facts), self.clip(heard.clip))

    def with_units(self, value: ReadingValue) -> str:
        """The value as said; beside it in the reader's own units where it was said in others."""
        other = beside(value.si, value.unit, self.units, self.job.site)
        return f"{said_value(value)} ({other})" if other else said_value(value)

    def clip(self, path: str | None) -> Clip | None:
        """The sound at a path in the job's folder."""
        if not path:
            return None
        if self.sounds is not None:
            return self.sounds.clip(path)
        linked = self.clips_at is not None and is_inside(path)
        return Clip(path, f"{self.clips_at}{quote(path)}" if linked else None)

    def caution(self, name: str) -> str:
        """The words of a caution; its name where the procedure lacks it."""
        known = self.state.procedure.cautions.get(name)
        return known.text if known else name_words(name)


def _with_answer(first: Quote, question: str, answer: Quote | None) -> Quote:
    """What was heard first, ending in the answer to the last question."""
    if first.answer is None:
        return replace(first, question=question, answer=answer)
    return replace(first, answer=_with_answer(first.answer, question, answer))


def is_inside(clip: str) -> bool:
    """Whether a clip's path stays inside the job's folder: a foreign log may say anything."""
    parts = clip.replace("\\", "/").split("/")
    return not clip.startswith(("/", "\\")) and ".." not in parts and ":" not in parts[0]


def name_words(name: str) -> str:
    """A kebab-case name as words: "isolate-pump" -> "Isolate pump"."""
    words = name.replace("-", " ")
    return words[:1].upper() + words[1:]


def said_value(value: ReadingValue) -> str:
    """The value as said, with its unit."""
    try:
        return say(value.value, value.unit)
    except InvalidOperation:
        return f"{value.said} {value.unit}"


def quantity_words(name: str) -> str:
    """The quantity, with a capital: "Suction pressure"."""
    words = speakable(name)
    return words[:1].upper() + words[1:]


def tone(verdict: str) -> str:
    """The class a verdict is set in: "good", "bad", "open"; "" for a plain value."""
    if verdict in GOOD:
        return "good"
    return "bad" if verdict in BAD else "open" if verdict in OPEN else ""
