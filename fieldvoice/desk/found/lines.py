"""The time line of a job: every line that came in, what became of it, and what fell between."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from fieldvoice.desk.library import ReadJob
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.events import Entry
from fieldvoice.jobstate.job import unit_of
from fieldvoice.review.event_words import describe

# what can be asked for -> its words; the first is everything
FILTERS: Mapping[str, str] = {
    "all": "everything", "asked-back": "asked back", "corrected": "corrected",
    "skipped": "skipped", "interrupted": "interrupted", "readings": "readings",
    "notes": "notes", "reviewed": "reviewed", "wrong": "marked wrong", "amended": "amended",
}  # fmt: skip
INTERRUPTIONS = (e.JobResumed, e.JobReopened, e.Restarted, e.ClockJumped, e.StoodBy, e.BackAtWork)
_BETWEEN = (*INTERRUPTIONS, e.JobStarted, e.JobFinished, e.VerdictGiven, e.TimerFinished,
            e.OwnVoiceUsed)


@dataclass(frozen=True)
class Row:
    """A line, or something that happened between two."""

    seq: int
    at: datetime
    unit: str  # what it is called; "" in a job of one
    words: str
    flags: frozenset[str]  # those of FILTERS that it is one of
    line: e.LineHeard | None = None  # None: between two lines
    became: tuple[str, ...] = ()
    mark: str = ""  # "right" or "wrong": what a reviewer said last


def rows(job: ReadJob) -> list[Row]:
    """The whole time line, in order; linear."""
    deeds, flags, marks = deeds_of(job), _flags(job), marks_of(job)
    return [_row(job, entry, deeds, flags, marks) for entry in job.entries
            if isinstance(entry.event, (e.LineHeard, *_BETWEEN))]


def _row(
    job: ReadJob, entry: Entry, deeds: Mapping[int, Sequence[Entry]],
    flags: Mapping[int, set[str]], marks: Mapping[int, e.LineReviewed],
) -> Row:
    unit = job.called.get(unit_of(entry), "") if job.units.several else ""
    event, of_it = entry.event, frozenset({"all"} | flags.get(entry.seq, set()))
    if not isinstance(event, e.LineHeard):
        return Row(entry.seq, entry.at, unit, describe(event), of_it)
    became = tuple(describe(deed.event) for deed in deeds.get(entry.seq, ()))
    found = marks.get(entry.seq)
    mark = "" if found is None else "right" if found.right else "wrong"
    return Row(entry.seq, entry.at, unit, event.words, of_it, event, became, mark)


def deeds_of(job: ReadJob) -> Mapping[int, Sequence[Entry]]:
    """What each line did, by its number: events that point at it, and what was amended since."""
    found: dict[int, list[Entry]] = defaultdict(list)
    for entry in job.entries:
        line = getattr(entry.event, "line", None)
        if isinstance(line, int) and not isinstance(entry.event, e.REVIEW):
            found[line].append(entry)
        elif isinstance(entry.event, e.ReadingAmended):
            for seq in _line_of(job, entry.event.amends):
                found[seq].append(entry)
    return found


def marks_of(job: ReadJob) -> Mapping[int, e.LineReviewed]:
    """What a reviewer said last of each line."""
    return {x.event.line: x.event for x in job.entries if isinstance(x.event, e.LineReviewed)}


def _flags(job: ReadJob) -> Mapping[int, set[str]]:
    found: dict[int, set[str]] = defaultdict(set)
    for seq, flag in _flagged(job):
        found[seq].add(flag)
    return found


def _flagged(job: ReadJob) -> Iterator[tuple[int, str]]:
    """Numbers of lines, and of what falls between, with what can be asked for."""
    for entry in job.entries:
        event = entry.event
        line = getattr(event, "line", None)
        if isinstance(event, INTERRUPTIONS):
            yield entry.seq, "interrupted"
        elif isinstance(event, e.LineHeard):
            yield from ((entry.seq, flag) for flag in _of_line(event))
        elif isinstance(event, e.Remarked) and event.line is not None:
            yield event.line, "reviewed"
        elif isinstance(line, int):
            yield from ((line, flag) for flag in _of_deed(event))
            if isinstance(event, e.Withdrawn | e.ReadingCorrected):
                yield from _earlier(job, event, line)
        elif isinstance(event, e.ReadingAmended):
            yield from ((seq, flag) for seq in _line_of(job, event.amends)
                        for flag in ("amended", "reviewed"))


def _of_line(event: e.LineHeard) -> Iterator[str]:
    if event.outcome == "asked-back":
        yield "asked-back"
    if event.outcome == "noted":
        yield "notes"
    if event.intent.get("kind") == e.CUT_SHORT:
        yield "interrupted"


def _of_deed(event: e.Event) -> Iterator[str]:
    if isinstance(event, e.Asked | e.UnitAsked):
        yield "asked-back"
    elif isinstance(event, e.StepSkipped):
        yield "skipped"
    elif isinstance(event, e.ReadingTaken):
        yield "readings"
    elif isinstance(event, e.ReadingCorrected):
        yield from ("readings", "corrected")
    elif isinstance(event, e.Withdrawn):
        yield "corrected"
    elif isinstance(event, e.NoteTaken | e.NoteOpened):
        yield "notes"
    elif isinstance(event, e.LineReviewed):
        yield "reviewed"
        if not event.right:
            yield "wrong"
    elif isinstance(event, e.NoteTranscribed):
        yield "reviewed"


def _earlier(
    job: ReadJob, event: e.Withdrawn | e.ReadingCorrected, line: int
) -> Iterator[tuple[int, str]]:
    """The line whose deed was corrected or taken back by another one."""
    points_at = event.corrects if isinstance(event, e.ReadingCorrected) else event.withdraws
    yield from ((seq, "corrected") for seq in _line_of(job, points_at) if seq != line)


def _line_of(job: ReadJob, seq: int) -> Iterator[int]:
    entry = job.by_seq.get(seq)
    line = None if entry is None else getattr(entry.event, "line", None)
    if isinstance(line, int):
        yield line


def wanted(found: Sequence[Row], flag: str, words: str) -> list[Row]:
    """Those of a filter in which every word stands; a mark that was changed counts as it is now."""
    parts = words.casefold().split()
    return [row for row in found if flag in row.flags
            and (flag != "wrong" or row.mark == "wrong")
            and all(part in f"{row.words} {' '.join(row.became)}".casefold() for part in parts)]
