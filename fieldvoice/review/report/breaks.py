"""When nobody worked: the log stopped and went on later, after a pause, a night or a failure."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.events import Entry
from fieldvoice.review.vacuum import Break

LEAST = timedelta(minutes=1)  # a shorter stop is no break in the work


def breaks(entries: Iterable[Entry]) -> tuple[Break, ...]:
    """From the last line of the work to the line with which work went on."""
    found, before = [], None
    for entry in entries:
        went_on = isinstance(entry.event, e.JobResumed | e.JobReopened)
        if went_on and before is not None and entry.at - before >= LEAST:
            found.append(Break(before, entry.at))
        before = entry.at if e.is_work(entry.event) else before
    return tuple(found)


def lasted(span: timedelta) -> str:
    """How long, in hours and minutes: "14 h 27 min", "11 min", "2 days 3 h"."""
    minutes = round(span.total_seconds() / 60)
    days, hours = divmod(minutes // 60, 24)
    parts = [f"{days} day{'s' if days > 1 else ''}" if days else "", f"{hours} h" if hours else "",
             f"{minutes % 60} min" if minutes % 60 and not days else ""]
    return " ".join(part for part in parts if part) or "under a minute"
