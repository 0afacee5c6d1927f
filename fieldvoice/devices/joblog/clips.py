"""The sound of each line, beside the log."""

from __future__ import annotations

import contextlib
import hashlib
import io
import os
import wave
from functools import partial
from itertools import chain
from pathlib import Path

from fieldvoice.devices.free_name import made_free, numbered
from fieldvoice.devices.joblog.inside import refuse_link
from fieldvoice.devices.joblog.refusal import refusal
from fieldvoice.jobstate.events import Clip

CLIP_RATE = 16_000


def save_clip(folder: Path, number: int, pcm: bytes) -> Clip:
    """Keep the sound (16 kHz mono int16) of line `number`; returns where, and what proves it.

    WAV rather than FLAC: every player and every decoder opens it, and no library is needed.
    Raises WriteRefused, or JobLogError where the folder of clips is a link.
    """
    refuse_link(folder / "clips")
    sound, row = wav(pcm), f"{number:06d}"
    names = chain([f"{row}.wav"], numbered(f"{row}-{{}}.wav", 2))
    try:
        path = made_free(folder / "clips", names, partial(_write, sound=sound))
    except OSError as error:
        raise refusal(folder, error) from None
    return Clip(f"clips/{path.name}", hashlib.sha256(sound).hexdigest(), len(sound))


def wav(pcm: bytes) -> bytes:
    """A WAV file of 16 kHz mono int16."""
    held = io.BytesIO()
    with wave.open(held, "wb") as out:
        out.setparams((1, 2, CLIP_RATE, 0, "NONE", ""))
        out.writeframes(pcm)
    return held.getvalue()


def _write(path: Path, sound: bytes) -> None:
    made = path.open("xb")  # where it is there already, it is another's
    try:
        with made as file:
            file.write(sound)
            file.flush()
            os.fsync(file.fileno())
    except OSError:
        with contextlib.suppress(OSError):
            path.unlink()  # the part that found room is of no use
        raise
