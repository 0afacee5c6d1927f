"""The readings of a job as CSV: one row for each value that was ever logged."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence

from fieldvoice.jobstate.events import Entry
from fieldvoice.review.history import Digest, Measured, Version
from fieldvoice.review.history_reducer import digest

COLUMNS = (
    "seq",  # of the event that gave the value
    "time",  # ISO 8601 with offset; of the reading for its first value, of the correction after
    "quantity",
    "value",  # decimal, as said
    "unit",  # with its zero: psig, inHg-vacuum, ...
    "si_value",  # pressures absolute
    "si_unit",
    "status",  # "counts", "corrected" (another value replaced it) or "withdrawn"
    "corrects",  # seq of the reading that this value replaced; empty for a first value
    "step",
    "hold",  # step of the hold it belongs to
    "minute",  # since that hold began
    "within",  # "yes" or "no" against the step's limits; empty: none
    "source",  # "voice", "typed" or "recording"
    "words",  # as heard
    "confidence",  # lowest word confidence, 0..1
    "clip",  # path of the sound inside the job's folder
)
_FORMULA = ("=", "+", "-", "@", "\t", "\r")  # how a spreadsheet knows a formula


def readings_csv(entries: Sequence[Entry]) -> str:
    """CSV (RFC 4180, CRLF) with a header line; corrected and withdrawn values keep their rows.

    Words that a spreadsheet would take for a formula get an apostrophe in front.
    """
    job = digest(entries)
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    writer.writerows(_rows(job))
    return out.getvalue()


def _rows(job: Digest) -> Iterator[list[object]]:
    for reading in job.readings:
        for version in reading.versions:
            yield [*_measured(reading, version), *_said(job, version)]


def _measured(reading: Measured, version: Version) -> list[object]:
    first = version.seq == reading.seq
    return [
        version.seq, version.at.isoformat(), reading.quantity, version.value, version.unit,
        f"{version.si:.9g}", reading.si_unit, _status(reading, version),
        "" if first else reading.seq, _text(reading.step), _text(reading.hold or ""),
        "" if reading.minute is None else f"{reading.minute:.3f}",
        {None: "", True: "yes", False: "no"}[version.within],
    ]


def _status(reading: Measured, version: Version) -> str:
    if version is reading.counts:
        return "counts"
    gone = reading.withdrawn_at is not None or version.withdrawn_at is not None
    return "withdrawn" if gone else "corrected"


def _said(job: Digest, version: Version) -> list[object]:
    line = job.line(version.line)
    if line is None:
        return ["", "", "", ""]
    confidence = "" if line.confidence is None else f"{line.confidence:.3f}"
    return [line.source, _text(line.words), confidence, _text(line.clip or "")]


def _text(text: str) -> str:
    return f"'{text}" if text.startswith(_FORMULA) else text
