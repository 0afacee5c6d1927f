"""One line of a job with all that belongs to it, for the page where it is reviewed."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import takewhile

from fieldvoice.desk.errors import NoSuchJob
from fieldvoice.desk.found.lines import deeds_of
from fieldvoice.desk.library import ReadJob
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.events import Entry
from fieldvoice.jobstate.records import LoggedReading, ReadingValue, Transcript
from fieldvoice.quantity.quantities import quantities
from fieldvoice.quantity.resolve_unit import default_unit
from fieldvoice.quantity.units import PRESSURE_SCALES, UNITS, counted_in
from fieldvoice.review.event_words import describe
from fieldvoice.review.wording import quantity_words, said_value

_MOST_SAID = 8


@dataclass(frozen=True)
class ValueShown:
    """A value that a reading had."""

    words: str
    how: str  # "as taken", "corrected", "amended by Ann Lee: gauge misread"
    counts: bool


@dataclass(frozen=True)
class ReadingShown:
    """A reading that a line gave, and what may be put in its place."""

    seq: int
    quantity: str
    values: tuple[ValueShown, ...]
    now: str  # the number that counts
    unit: str
    units: tuple[tuple[str, str], ...]  # name, as shown
    judged: str  # the result that was given with it, where it was amended since


@dataclass(frozen=True)
class Line:
    """Everything of one line."""

    entry: Entry
    heard: e.LineHeard
    became: list[tuple[str, bool]]  # what it did, and whether that was taken back since
    replies: list[str]
    readings: list[ReadingShown]
    reviews: list[tuple[Entry, str]]
    transcript: Transcript | None
    is_note: bool
    own_voice: str  # whose it was heard with; "": nobody's
    before: int | None  # the lines beside it
    after: int | None


def line_of(job: ReadJob, seq: int) -> Line:
    """Raises NoSuchJob where no line has that number."""
    entry = job.by_seq.get(seq)
    if entry is None or not isinstance(entry.event, e.LineHeard):
        raise NoSuchJob("This job has no line of that number. The time line lists them.")
    lines = [x.seq for x in job.entries if isinstance(x.event, e.LineHeard)]
    place = lines.index(seq)
    history = job.job_of(entry).state.history
    deeds = deeds_of(job).get(seq, [])
    noted = any(isinstance(deed.event, e.NoteTaken | e.NoteOpened) for deed in deeds)
    written = [t for t in history.transcripts if t.line == seq]
    return Line(
        entry, entry.event,
        [(describe(deed.event), deed.seq in history.withdrawn) for deed in deeds],
        _replies(job, entry), list(_readings(job, entry)), list(_reviews(job, seq)),
        written[-1] if written else None, entry.event.outcome == "noted" or noted,
        _own_voice(job, entry),
        lines[place - 1] if place else None, lines[place + 1] if place + 1 < len(lines) else None)


def _own_voice(job: ReadJob, line: Entry) -> str:
    used = [x.event.name for x in job.entries
            if isinstance(x.event, e.OwnVoiceUsed) and x.seq < line.seq]
    return used[-1] if used and isinstance(line.event, e.LineHeard) and (
        line.event.source != "typed") else ""


def _replies(job: ReadJob, entry: Entry) -> list[str]:
    """What was said until the next line came in."""
    place = bisect_left(job.entries, entry.seq, key=lambda x: x.seq)
    until_next = takewhile(lambda x: not isinstance(x.event, e.LineHeard), job.entries[place + 1:])
    return [x.event.text for x in until_next if isinstance(x.event, e.Said)][:_MOST_SAID]


def _readings(job: ReadJob, entry: Entry) -> Iterator[ReadingShown]:
    """The readings that a value of came in with this line."""
    unit = job.job_of(entry)
    for reading in unit.state.history.readings:
        if entry.seq in [value.line for value in reading.values]:
            yield _reading(job, entry, reading)


def _reading(job: ReadJob, entry: Entry, reading: LoggedReading) -> ReadingShown:
    unit = job.job_of(entry)
    in_force = unit.state.values_in_force
    counting = [value for value in reading.values if value.seq in in_force]
    now = counting[-1] if counting else reading.now
    shown = tuple(ValueShown(said_value(v), _how(v, reading), v.seq in in_force)
                  for v in reading.values)
    about = quantities().get(reading.quantity)
    name = counted_in(now.unit)
    units = () if about is None else _units(about.dimension, about.kind)
    if name not in dict(units):
        name = default_unit(reading.quantity, unit.site) if about is not None else name
    return ReadingShown(reading.seq, quantity_words(reading.quantity), shown, now.said, name,
                        units, _judged(job, entry, reading))


def _units(dimension: str, kind: str) -> tuple[tuple[str, str], ...]:
    """Those that such a quantity is read in; on a gauge none that leaves its zero open."""
    return tuple((name, unit.screen) for name, unit in UNITS.items() if unit.dimension == dimension
                 and not (kind == "gauge pressure" and name in PRESSURE_SCALES))


def _how(value: ReadingValue, reading: LoggedReading) -> str:
    if value.reviewer:
        return f"amended by {value.reviewer}: {value.reason}"
    return "as taken" if value.seq == reading.seq else "corrected on the job"


def _judged(job: ReadJob, entry: Entry, reading: LoggedReading) -> str:
    """A result of the hold that this reading belongs to, given before it was amended."""
    amended = [value.seq for value in reading.values if value.reviewer]
    results = job.job_of(entry).state.results
    of_hold = [r for r in results if amended and r.seq > reading.seq and r.seq < amended[-1]
               and r.step in (reading.hold, reading.step)]
    return of_hold[-1].verdict.replace("-", " ") if of_hold else ""


def _reviews(job: ReadJob, seq: int) -> Iterator[tuple[Entry, str]]:
    """What reviewers did about this line, in order."""
    readings = {reading for reading, x in job.by_seq.items()
                if isinstance(x.event, e.ReadingTaken) and x.event.line == seq}
    for entry in job.entries:
        event = entry.event
        points_at = (
            event.line if isinstance(event, e.LineReviewed | e.NoteTranscribed)
            else event.line if isinstance(event, e.Remarked) else None)
        if points_at == seq or (isinstance(event, e.ReadingAmended) and event.amends in readings):
            yield entry, describe(event)
