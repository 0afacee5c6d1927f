"""Jobs on disk for the tests of the review pages, with the sound of their lines."""

from __future__ import annotations

import math
import re
import struct
import wave
from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path

from fieldvoice.devices.joblog import JobLog
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.events import Entry
from support.review_job import PROCEDURE, START, Book, started

RATE = 16_000


def tone(seconds: float = 0.5) -> bytes:
    """A quiet tone, 16 kHz mono int16."""
    steps = range(int(RATE * seconds))
    return b"".join(struct.pack("<h", int(3000 * math.sin(n / 6))) for n in steps)


def write_wav(path: Path) -> None:
    """The tone as a WAV file."""
    with wave.open(str(path), "wb") as out:
        out.setparams((1, 2, RATE, 0, "NONE", ""))
        out.writeframes(tone())


def vacuum_job(days_before: int = 0, place: str = "Bakery") -> list[Entry]:
    """A pull-down whose second reading was heard ten times too high, and its hold."""
    book = Book(START - timedelta(days=days_before))
    book.add(started(place=place, customer="Miller <b>& Daughter"))
    book.open("evacuation", "pull-down")
    book.read("vacuum", "5000", "microns", "five thousand", within=False, after=300)
    book.read("vacuum", "4120", "microns", "forty one twenty", within=False, after=300)
    note = book.heard("[unk]", outcome="noted")
    book.add(e.NoteTaken("", [f"clips/{note - 1:04d}.wav"], note))
    book.read("vacuum", "310", "microns", "three ten", within=True, after=300)
    book.add(e.StepDone("pull-down", book.heard("next")))
    book.open("evacuation", "isolate-and-hold")
    book.add(e.JobFinished("handed-over"), 60)
    return book.entries


def put(folder: Path, entries: Sequence[Entry]) -> Path:
    """A job's folder with its log and the sounds that its lines name."""
    with JobLog.create(folder, PROCEDURE) as log:
        log.append_all(list(entries))
        for entry in entries:
            if isinstance(entry.event, e.LineHeard) and entry.event.clip:
                write_wav(folder / entry.event.clip)
    return folder


def line_called(folder: Path, words: str) -> int:
    """The number of the line that was heard so."""
    found = re.search(rf'"seq": (\d+),[^\n]*"words": "{words}"',
                      (folder / "log.jsonl").read_text("utf-8"))
    assert found is not None
    return int(found[1])
