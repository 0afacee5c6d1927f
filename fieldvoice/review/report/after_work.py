"""What a review after the work put to a reading, a line or a note: shown where that stands."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

from fieldvoice.jobstate.events import LineHeard
from fieldvoice.jobstate.records import Note, ReadingValue
from fieldvoice.review.wording import Context, said_value


def amended(context: Context, before: ReadingValue | None, value: ReadingValue) -> str:
    """Of a value that a reviewer put in the place of another; "" for one of the job itself."""
    if not value.reviewer:
        return ""
    was = f"was {said_value(before)}; " if before is not None else ""
    return f"{was}amended by {value.reviewer} at review, {context.clock(value.at)}: {value.reason}"


def by_line(context: Context) -> Mapping[int, list[str]]:
    """What was written down, remarked or judged of a line after the work, by the line's seq."""
    history, found = context.state.history, defaultdict(list)
    for it in history.transcripts:
        how = it.how.replace("-", " ")
        found[it.line].append(f"“{it.text}”, written down {how} by {it.reviewer}")
    for remark in history.remarks:
        if remark.about is not None:
            found[remark.about].append(f"remark by {remark.reviewer}: {remark.text}")
    for mark in {review.line: review for review in history.reviews}.values():
        words = f", really “{mark.words}”" if mark.words else ""
        why = f": {mark.reason}" if mark.reason else ""
        found[mark.line].append(
            f"marked {'right' if mark.right else 'wrong'} by {mark.reviewer}{words}{why}")
    return found


def of_notes(context: Context) -> Mapping[int, list[str]]:
    """The same of each note, by its seq: of the line it was told with and of the sounds it kept."""
    told, found = by_line(context), {}
    lines = {entry.event.clip: entry.seq for entry in context.job.entries
             if isinstance(entry.event, LineHeard) and entry.event.clip}
    for note in context.state.history.notes:
        about = dict.fromkeys([*_told_with(context, note), *map(lines.get, note.clips)])
        found[note.seq] = [words for line in about for words in told.get(line or 0, [])]
    return found


def _told_with(context: Context, note: Note) -> list[int | None]:
    return [getattr(entry.event, "line", None) for entry in context.job.entries
            if entry.seq == note.seq]
