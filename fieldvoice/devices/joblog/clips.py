"""The sound of each line, beside the log."""

from __future__ import annotations

import contextlib
import os
import wave
from pathlib import Path

from fieldvoice.devices.joblog.refusal import refusal

CLIP_RATE = 16_000


def save_clip(folder: Path, number: int, pcm: bytes) -> str:
    """Keep the sound (16 kHz mono int16) of line `number`; returns its path in the job.

    WAV rather than FLAC: every player and every decoder opens it, and no library is needed.
    Raises WriteRefused.
    """
    name = _free_name(folder, number)
    try:
        with (folder / name).open("xb") as file:
            with wave.open(file, "wb") as out:
                out.setparams((1, 2, CLIP_RATE, 0, "NONE", ""))
                out.writeframes(pcm)
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        with contextlib.suppress(OSError):
            (folder / name).unlink()  # the part that found room is of no use
        raise refusal(folder, error) from None
    return name


def _free_name(folder: Path, number: int) -> str:
    name = f"clips/{number:06d}.wav"
    more = 2
    while (folder / name).exists():
        name = f"clips/{number:06d}-{more}.wav"
        more += 1
    return name
