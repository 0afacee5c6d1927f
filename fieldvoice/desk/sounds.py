"""The sound of a line: only what the log names, only inside the job's folder."""

from __future__ import annotations

import os
import re
import stat
from pathlib import Path

from fieldvoice.desk.errors import NoSuchJob
from fieldvoice.desk.library import ReadJob

MOST_BYTES = 64 * 1024 * 1024
TYPES = {".wav": "audio/wav", ".flac": "audio/flac", ".ogg": "audio/ogg", ".opus": "audio/ogg"}
_PLAIN = re.compile(r"(?:[A-Za-z0-9][\w.-]*/)*[A-Za-z0-9][\w.-]*\.(?:wav|flac|ogg|opus)")


def path_of(job: ReadJob, clip: str) -> Path:
    """Where a clip lies; no link is followed. Raises NoSuchJob."""
    path = job.folder / clip
    if clip not in job.clips or not _PLAIN.fullmatch(clip) or not _plain(job.folder, path):
        raise NoSuchJob("There is no such sound in this job.")
    return path


def _plain(folder: Path, path: Path) -> bool:
    """Folders all the way, and a file at the end."""
    ways = [path, *path.parents][: len(path.relative_to(folder).parts)]
    try:
        kinds = [way.lstat().st_mode for way in ways]
    except OSError:
        return False
    return stat.S_ISREG(kinds[0]) and all(map(stat.S_ISDIR, kinds[1:]))


def bytes_of(job: ReadJob, clip: str) -> tuple[bytes, str]:
    """A clip and its type. Raises NoSuchJob."""
    path = path_of(job, clip)
    try:
        with open(os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0)), "rb") as file:
            return file.read(MOST_BYTES), TYPES[path.suffix]
    except OSError as error:
        raise NoSuchJob(f"The sound {clip} cannot be read: {error.strerror}.") from None
