"""What every part of the report is written with: escaping, tables, times, and who said what."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo
from decimal import Decimal, InvalidOperation
from html import escape
from urllib.parse import quote

from fieldvoice.procedure.model import Procedure
from fieldvoice.procedure.step import Step
from fieldvoice.quantity.errors import ReadingError
from fieldvoice.quantity.quantities import speakable
from fieldvoice.quantity.site import Site, site_from
from fieldvoice.quantity.units import say
from fieldvoice.review.history import Digest, Version

GOOD = ("tight", "passed")
BAD = ("wet", "leaking", "failed")
OPEN = ("not-yet-clear", "gaining")


@dataclass(frozen=True)
class Context:
    """What a part of the report is written from."""

    job: Digest
    procedure: Procedure | None  # None: its text could not be read
    clips_at: str | None  # URL that clips are found under; "" beside the page, None nowhere
    zone: tzinfo | None  # None: as the log has it

    @property
    def site(self) -> Site:
        """The site as the job was told of it; the standard one where that cannot be read."""
        try:
            return site_from(self.job.started.site if self.job.started else {})
        except ReadingError:
            return Site()

    def step(self, name: str) -> Step | None:
        """The step of that name in the procedure kept with the job."""
        return None if self.procedure is None else self.procedure.by_name.get(name)

    def local(self, at: datetime) -> datetime:
        """The time in the zone of the report."""
        return at if self.zone is None else at.astimezone(self.zone)

    def clock(self, at: datetime | None) -> str:
        """Time of day; with the date where that differs from the job's first day."""
        if at is None:
            return ""
        local = self.local(at)
        first = self.local(self.job.first_at or at)
        return f"{local:%H:%M:%S}" if local.date() == first.date() else f"{local:%d %b %H:%M:%S}"

    def heard(self, line: int | None, *, unless: str = "") -> str:
        """Who said so: the words, their source, the confidence, and the sound.

        `unless`: words that stand beside it already and are not repeated.
        """
        heard = self.job.line(line)
        if heard is None:
            return ""
        facts = [heard.source]
        if heard.confidence is not None:
            facts.append(f"{heard.confidence:.0%} sure")
        if heard.outcome == "asked-back":
            facts.append("read back first")
        quoted = f"<q>{escape(heard.words)}</q> " if heard.words != unless else ""
        facts_said = f'<span class="dim">{escape(", ".join(facts))}</span>'
        return quoted + facts_said + self.sound(heard.clip)

    def sound(self, clip: str | None) -> str:
        """A player for a clip in the job's folder, or its name alone."""
        if not clip:
            return ""
        if self.clips_at is None or not is_inside(clip):
            return f' <span class="dim">sound: {escape(clip)}</span>'
        options = 'controls controlslist="nodownload noplaybackrate" preload="none"'
        return f' <audio {options} src="{escape(self.clips_at + quote(clip))}"></audio>'

    def clip_link(self, clip: str | None) -> str:
        """A plain link to a clip, for long lists that could not carry that many players."""
        if not clip or self.clips_at is None or not is_inside(clip):
            return ""
        return f' <a href="{escape(self.clips_at + quote(clip))}">sound</a>'


def is_inside(clip: str) -> bool:
    """Whether a clip's path stays inside the job's folder: a foreign log may say anything."""
    parts = clip.replace("\\", "/").split("/")
    return not clip.startswith(("/", "\\")) and ".." not in parts and ":" not in parts[0]


def name_words(name: str) -> str:
    """A kebab-case name as words: "isolate-pump" -> "Isolate pump"."""
    words = name.replace("-", " ")
    return words[:1].upper() + words[1:]


def said_value(version: Version) -> str:
    """The value as said, with its unit."""
    try:
        return say(Decimal(version.value), version.unit)
    except InvalidOperation:
        return f"{version.value} {version.unit}"


def quantity_words(name: str) -> str:
    """The quantity, with a capital: "Suction pressure"."""
    words = speakable(name)
    return words[:1].upper() + words[1:]


def table(head: Sequence[str], rows: Iterable[Sequence[str]], css: str = "") -> str:
    """A table of cells that are HTML already; "" when there are no rows."""
    body = "".join(f"<tr>{''.join(f'<td>{cell}</td>' for cell in row)}</tr>\n" for row in rows)
    if not body:
        return ""
    names = "".join(f"<th scope='col'>{escape(name)}</th>" for name in head)
    top = f"<thead><tr>{names}</tr></thead>" if any(head) else ""
    return f'<table class="{css}">{top}<tbody>{body}</tbody></table>'


def section(title: str, body: str, css: str = "") -> str:
    """A titled part of the report; "" when it has nothing to say."""
    if not body:
        return ""
    return f'<section class="{css}"><h2>{escape(title)}</h2>\n{body}</section>\n'


def tone(verdict: str) -> str:
    """The class a verdict is set in: "good", "bad", "open"; "" for a plain value."""
    if verdict in GOOD:
        return "good"
    return "bad" if verdict in BAD else "open" if verdict in OPEN else ""
