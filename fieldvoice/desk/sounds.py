"""The sound of a line: only what the log names, only inside the job's folder."""

from __future__ import annotations

from pathlib import Path

from fieldvoice.desk.errors import NoSuchJob
from fieldvoice.desk.library import ReadJob
from fieldvoice.devices.joblog import JobLogError, clip_path, read_inside

TYPES = {".wav": "audio/wav", ".flac": "audio/flac", ".ogg": "audio/ogg", ".opus": "audio/ogg"}


def path_of(job: ReadJob, clip: str) -> Path:
    """Where a clip lies; no link is followed. Raises NoSuchJob."""
    try:
        if clip in job.clips and Path(clip).suffix in TYPES:
            return clip_path(job.folder, clip)
    except JobLogError:
        pass
    raise NoSuchJob("There is no such sound in this job.")


def bytes_of(job: ReadJob, clip: str) -> tuple[bytes, str]:
    """A clip and its type. Raises NoSuchJob."""
    path = path_of(job, clip)
    try:
        return read_inside(job.folder, clip), TYPES[path.suffix]
    except JobLogError as error:
        raise NoSuchJob(f"The sound {clip} cannot be read: {error}.") from None
