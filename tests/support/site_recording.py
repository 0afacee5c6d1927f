"""A recorded job of the demo as one long recording, with its pauses."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldvoice.commands.wiring.recorded_jobs import RecordedJob
from fieldvoice.devices.soundfile import RATE, read_sound


def one_long(job: RecordedJob) -> tuple[NDArray[np.int16], list[tuple[str, datetime]]]:
    """The sound, and what is said with the time at which it ends; pauses are those of job.toml."""
    parts: list[NDArray[np.int16]] = []
    said: list[tuple[str, datetime]] = []
    samples = 0
    for line in job.lines:
        silence = np.zeros(int(line.gap.total_seconds() * RATE), np.int16)
        parts.append(silence)
        samples += len(silence)
        if line.sound is not None:
            parts.append(read_sound(Path(line.sound)))
            samples += len(parts[-1])
            said.append((line.text, job.start + timedelta(seconds=samples / RATE)))
    return np.concatenate([*parts, np.zeros(2 * RATE, np.int16)]), said
