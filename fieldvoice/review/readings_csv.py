"""The readings of a job as CSV: one row for each value that was ever logged."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping, Sequence

from fieldvoice.jobstate.records import LoggedReading, ReadingValue
from fieldvoice.jobstate.state import JobState
from fieldvoice.quantity.units import counted_in
from fieldvoice.review.csv_cell import csv_cell

COLUMNS = (
    "seq",  # of the event that gave the value
    "time",  # ISO 8601 with offset; of the reading for its first value, of the correction after
    "quantity",
    "value",  # decimal, as said
    "unit",  # with its zero: psig, inHg-vacuum, ...; of "7 lb 2 oz" the one counted, oz
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
    "mode",  # "work", or what was not measured at a unit: "practice", "replay"
    "asked_back",  # "yes": the value was read back and asked about before it counted
    "over_plate",  # the plate's design pressure that it lies above
    "unfit",  # why it was not held against a limit, nor judged
    "verdict",  # what its hold was judged as, of the first judgement after it: "tight", "failed"
    "job",
    "procedure",
    "place",
    "customer",
)

UNIT = "of_unit"  # the last column, where the job has several units


def units_csv(units: Mapping[str, JobState]) -> str:
    """The readings of a job's units, one after the other; of a single one as `readings_csv`."""
    if len(units) == 1:
        return readings_csv(next(iter(units.values())))
    return _csv((*COLUMNS, UNIT), (
        [*row, name] for name, state in units.items() for row in _rows(state)))


def readings_csv(state: JobState) -> str:
    """CSV (RFC 4180, CRLF) with a header line; corrected and withdrawn values keep their rows.

    Words that a spreadsheet would take for a formula get an apostrophe in front, in every column.
    """
    return _csv(COLUMNS, _rows(state))


def _csv(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(columns)
    writer.writerows([csv_cell(cell) for cell in row] for row in rows)
    return out.getvalue()


def _rows(state: JobState) -> Iterator[list[object]]:
    for reading in state.history.readings:
        for value in reading.values:
            yield [*_measured(reading, value, _status(state, reading, value)),
                   *_said(state, value), state.mode, _asked_back(state, value),
                   value.over_plate, value.unfit, verdict(state, reading), *_where(state)]


def records(state: JobState) -> Iterator[dict[str, object]]:
    """The rows as JSON has them: by column, without guards, without what is empty."""
    for row in _rows(state):
        told = dict(zip(COLUMNS, row, strict=True))
        yield {name: value for name, value in told.items() if value not in (None, "")}


def verdict(state: JobState, reading: LoggedReading) -> str:
    """What the hold of a reading was judged as, by the first result that counts after it."""
    return next((result.verdict for result in state.results
                 if reading.hold and result.step == reading.hold and result.seq > reading.seq), "")


def _asked_back(state: JobState, value: ReadingValue) -> str:
    line = state.history.line(value.line)
    return "yes" if line is not None and line.outcome == "asked-back" else ""


def _where(state: JobState) -> list[str]:
    started = state.history.started
    return [state.job, started.procedure if started else "",
            state.facts.get("place", ""), state.facts.get("customer", "")]


def _measured(reading: LoggedReading, value: ReadingValue, status: str) -> list[object]:
    first = value.seq == reading.seq
    return [
        value.seq, value.at.isoformat(), reading.quantity, value.said,
        counted_in(value.unit),
        f"{value.si:.9g}", reading.si_unit, status,
        "" if first else reading.seq, reading.step, reading.hold or "",
        "" if reading.minute is None else f"{reading.minute:.3f}",
        {None: "", True: "yes", False: "no"}[value.within],
    ]


def _status(state: JobState, reading: LoggedReading, value: ReadingValue) -> str:
    if value.seq in state.values_in_force:
        return "counts"
    taken_back = {reading.seq, value.seq} & state.history.withdrawn.keys()
    return "withdrawn" if taken_back else "corrected"


def _said(state: JobState, value: ReadingValue) -> list[object]:
    line = state.history.line(value.line)
    if line is None:
        return ["", "", "", ""]
    confidence = "" if line.confidence is None else f"{line.confidence:.3f}"
    return [line.source, line.words, confidence, line.clip or ""]
