"""A job's folder with clips that can be heard, and its log, for the pages that play them."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from fieldvoice.devices.joblog import JobLog
from fieldvoice.jobstate import events as e
from support.small_procedure import TEXT

AT = datetime(2026, 5, 14, 10, 14, tzinfo=UTC)
SECONDS = 0.5


def tone(seconds: float = SECONDS, hertz: float = 440.0) -> bytes:
    """A tone as 16 kHz mono int16."""
    time = np.arange(round(16_000 * seconds)) / 16_000
    return (8_000 * np.sin(2 * np.pi * hertz * time)).astype(np.int16).tobytes()


def job_with_sound(folder: Path, *words: str, note: str = "") -> list[str]:
    """Begin a job in which each of the words was heard, as a note; returns the clips' paths."""
    import hashlib

    clips = []
    with JobLog.create(folder, TEXT) as log:
        digest = hashlib.sha256(TEXT.encode()).hexdigest()
        log.append(e.JobStarted(folder.name, "small", digest, "0"), AT)
        for number, said in enumerate(words):
            kept = log.save_clip(tone(hertz=300.0 + 100 * number))
            clip = str(getattr(kept, "path", kept))
            line = log.append(e.LineHeard(said, "voice", {"intent": "note"}, 0.9, clip), AT)
            log.append(e.NoteTaken(note or said, [clip], line.seq), AT)
            clips.append(clip)
    return clips
