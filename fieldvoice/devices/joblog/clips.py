"""The sound of each line, beside the log."""

from __future__ import annotations

import contextlib
import hashlib
import io
import os
import wave
from pathlib import Path

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
    name, sound = _free_name(folder, number), wav(pcm)
    try:
        with (folder / name).open("xb") as file:
            file.write(sound)
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        with contextlib.suppress(OSError):
            (folder / name).unlink()  # the part that found room is of no use
        raise refusal(folder, error) from None
    return Clip(name, hashlib.sha256(sound).hexdigest(), len(sound))


def wav(pcm: bytes) -> bytes:
    """A WAV file of 16 kHz mono int16."""
    held = io.BytesIO()
    with wave.open(held, "wb") as out:
        out.setparams((1, 2, CLIP_RATE, 0, "NONE", ""))
        out.writeframes(pcm)
    return held.getvalue()


def _free_name(folder: Path, number: int) -> str:
    name = f"clips/{number:06d}.wav"
    more = 2
    while os.path.lexists(folder / name):
        name = f"clips/{number:06d}-{more}.wav"
        more += 1
    return name
