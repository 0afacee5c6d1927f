"""What was added to a record after the work: mended, reviewed, attached, amended; and by whom."""

from __future__ import annotations

from collections.abc import Iterator

from fieldvoice.jobstate.events import Entry
from fieldvoice.review.event_words import describe
from fieldvoice.review.report.lists import Row
from fieldvoice.review.wording import Context

KINDS = (  # by name: a log made by a newer version has them, an older program passes them over
    "log-mended", "line-reviewed", "reading-amended", "remarked", "note-transcribed",
    "header-amended", "attached",
)


def added(context: Context, entries: list[Entry]) -> Iterator[Row]:
    """When, what, who and why."""
    for entry in entries:
        event = entry.event
        if event.kind in KINDS:
            who = str(getattr(event, "reviewer", "") or getattr(event, "by", ""))
            yield Row((context.clock(entry.at), describe(event), who,
                       str(getattr(event, "reason", "") or "")), None)
