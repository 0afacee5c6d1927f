"""Lines with what was really said, as a set to measure or train a recognizer with.

A zip: `lines.jsonl`, one JSON object a line, the sounds under `sounds/`, `README.txt`.
"""

from __future__ import annotations

import json
import zipfile
from collections.abc import Iterable, Iterator
from typing import IO, Any

from fieldvoice.desk.errors import NoSuchJob
from fieldvoice.desk.found.lines import marks_of, rows
from fieldvoice.desk.library import ReadJob
from fieldvoice.desk.sounds import bytes_of
from fieldvoice.jobstate import events as e

README = """\
Lines of Fieldvoice jobs that somebody listened to, or that were corrected on the job.

lines.jsonl has one JSON object a line, UTF-8:
  path        of the sound in this archive; null where none was kept
  heard       the words that were recognized
  right       the words that were said, by a reviewer; null where nobody wrote them down
  verdict     "right" or "wrong" by a reviewer, "transcribed", or "corrected": the technician put
              its reading right or took it back; it may have been heard right all the same
  corrected_to  what that reading was put right to, "310 microns"; null else
  confidence  that what was heard was meant, 0 to 1; null for typed lines
  outcome     what became of the line: accepted, asked-back, refused, ignored, noted
  source      "voice", "typed" or "recording"
  job, line   where it comes from: the job's name and the number of the line's event
  utc         when it was said
  reviewer    who said so; "" for "corrected"
Sounds are WAV, 16 kHz, mono, as they were recorded. Somebody's voice is on them: pass them on only
with that person's consent.
"""


def examples(job: ReadJob) -> Iterator[dict[str, Any]]:
    """The lines of a job that say something about the recognizer, as lines.jsonl has them."""
    marks, written, corrected = marks_of(job), _written(job), _corrected(job)
    for row in rows(job):
        if row.line is None:
            continue
        mark, text = marks.get(row.seq), written.get(row.seq)
        if mark is None and text is None and row.seq not in corrected:
            continue
        yield {
            "path": _inside(job, row.line.clip), "heard": row.line.words,
            "right": _right(row.line.words, mark, text), "verdict": _verdict(mark, text),
            "corrected_to": corrected.get(row.seq),
            "confidence": row.line.confidence, "outcome": row.line.outcome,
            "source": row.line.source, "job": job.name, "line": row.seq,
            "utc": row.at.isoformat(),
            "reviewer": mark.reviewer if mark else text.reviewer if text else "",
        }


def _corrected(job: ReadJob) -> dict[int, str | None]:
    """Lines whose reading was put right by another line, to what; None: it was taken back."""
    found: dict[int, str | None] = {}
    for entry in job.entries:
        event, now = entry.event, None
        if isinstance(event, e.ReadingCorrected):
            target, now = event.corrects, f"{event.value} {event.unit}"
        elif isinstance(event, e.Withdrawn):
            target = event.withdraws
        else:
            continue
        taken = job.by_seq.get(target)
        if taken is None or not isinstance(taken.event, e.ReadingTaken):
            continue
        if taken.event.line is not None and taken.event.line != event.line:
            found[taken.event.line] = now
    return found


def _written(job: ReadJob) -> dict[int, e.NoteTranscribed]:
    return {x.event.line: x.event for x in job.entries if isinstance(x.event, e.NoteTranscribed)}


def _right(
    heard: str, mark: e.LineReviewed | None, text: e.NoteTranscribed | None
) -> str | None:
    if text is not None:
        return text.text
    if mark is None:
        return None
    return heard if mark.right else mark.words or None


def _verdict(mark: e.LineReviewed | None, text: e.NoteTranscribed | None) -> str:
    if mark is None:
        return "corrected" if text is None else "transcribed"
    return "right" if mark.right else "wrong"


def _inside(job: ReadJob, clip: str | None) -> str | None:
    return f"sounds/{job.name}/{clip.rsplit('/', 1)[-1]}" if clip else None


def write_set(jobs: Iterable[ReadJob], file: IO[bytes]) -> int:
    """Write the zip of all the jobs' lines; returns how many lines it has."""
    told: list[dict[str, Any]] = []
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as out:
        for job in jobs:
            told += [_with_sound(job, example, out) for example in examples(job)]
        lines = "".join(json.dumps(example, ensure_ascii=False) + "\n" for example in told)
        out.writestr("lines.jsonl", lines.encode("utf-8", "replace"))
        out.writestr("README.txt", README)
    return len(told)


def _with_sound(job: ReadJob, example: dict[str, Any], out: zipfile.ZipFile) -> dict[str, Any]:
    """The example, its sound put into the archive; without one that is gone or a link."""
    entry = job.by_seq[example["line"]].event
    if not isinstance(entry, e.LineHeard) or not entry.clip:
        return example
    try:
        sound, _ = bytes_of(job, entry.clip)
    except NoSuchJob:
        return {**example, "path": None}
    out.writestr(example["path"], sound)
    return example
