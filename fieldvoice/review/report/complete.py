"""The complete log, every event of it, set so that it takes little room.

What a line led to stands behind it in one paragraph with the time once; each event keeps its own
number, since others name it by that.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, datetime

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.events import Entry
from fieldvoice.review.event_words import describe
from fieldvoice.review.page_sound import Clip
from fieldvoice.review.wording import Context


@dataclass
class Paragraph:
    """What happened at one time, to one unit, from one line."""

    day: str  # where it differs from that of the paragraph before
    time: str
    unit: str
    events: list[tuple[int, str]] = field(default_factory=list)  # number, what
    clip: Clip | None = None


def complete(context: Context, entries: Iterable[Entry], first_unit: str) -> Iterator[Paragraph]:
    """All of them in order; `first_unit` is named where an event names none."""
    day: date | None = None
    open_: Paragraph | None = None
    for entry in entries:
        at, unit, heard = context.local(entry.at), entry.unit or first_unit, _line(entry)
        if open_ is None or heard or (open_.time, open_.unit) != (_time(at), unit) or (
                at.date() != day):
            if open_ is not None:
                yield open_
            told = f"{at.day} {at:%B %Y}" if at.date() != day else ""
            day = at.date()
            open_ = Paragraph(told, _time(at), unit)
        open_.events.append((entry.seq, describe(entry.event)))
        if heard:
            open_.clip = context.clip(heard.clip)
    if open_ is not None:
        yield open_


def _line(entry: Entry) -> e.LineHeard | None:
    return entry.event if isinstance(entry.event, e.LineHeard) else None


def _time(at: datetime) -> str:
    return f"{at:%H:%M:%S}"
