"""When a sound file says that it was recorded."""

from __future__ import annotations

import contextlib
from datetime import datetime
from pathlib import Path

_DATE_AT = 256 + 32 + 32  # description, originator and its reference lie before it
_SHORTEST = len("2026-03-02T09:14")  # a day alone says nothing of the hour


def recorded_at(path: Path) -> datetime | None:
    """The moment at which it began, aware, where the recorder wrote one that can be read.

    That of a WAV file's `bext` chunk (EBU Tech 3285: local date and time of the first sample), else
    the date of its tags where that has a time.
    """
    told = _of_broadcast_wave(path) or _of_tags(path)
    with contextlib.suppress(ValueError):
        return datetime.fromisoformat(told).astimezone() if len(told) >= _SHORTEST else None
    return None


def _of_broadcast_wave(path: Path) -> str:
    """ISO date and time of the `bext` chunk; "" where there is none."""
    with path.open("rb") as file:
        head = file.read(12)
        if head[:4] not in (b"RIFF", b"RF64") or head[8:] != b"WAVE":
            return ""
        while len(chunk := file.read(8)) == 8:
            size = int.from_bytes(chunk[4:], "little")
            if chunk[:4] == b"bext":
                written = file.read(_DATE_AT + 18)[_DATE_AT:].decode("ascii", "replace")
                # some write other signs than "-" and ":" between the numbers
                date, time = written[:10], written[10:18]
                return (f"{date[:4]}-{date[5:7]}-{date[8:]}T"
                        f"{time[:2]}:{time[3:5]}:{time[6:]}").rstrip("\0 ")
            file.seek(size + size % 2, 1)
    return ""


def _of_tags(path: Path) -> str:
    import soundfile  # loading it takes longer than reading the chunks of a WAV file

    try:
        with soundfile.SoundFile(path) as sound:
            return str(sound.copy_metadata().get("date", ""))
    except (soundfile.SoundFileError, UnicodeDecodeError):
        return ""
