"""Files kept with a job: copies in its folder, as they were."""

from __future__ import annotations

import hashlib
import re
from functools import partial
from pathlib import Path

from fieldvoice.devices.free_name import made_free, numbered
from fieldvoice.devices.joblog.inside import refuse_link
from fieldvoice.devices.joblog.lines import JobLogError
from fieldvoice.devices.whole_file import write_whole

FOLDER = "attachments"
MOST_BYTES = 50_000_000
_OWN = 0o700


def keep_attachment(folder: Path, source: Path) -> tuple[str, str, int]:
    """Copy a file into a job's folder: its path there, SHA-256 and length in bytes.

    Raises JobLogError; nothing half copied is left.
    """
    data = _read(source)
    place = folder / FOLDER
    refuse_link(place)
    try:
        place.mkdir(mode=_OWN, exist_ok=True)
        names = numbered(f"{{:03d}}-{_plain(source.name)}", 1 + sum(1 for _ in place.iterdir()))
        path = made_free(place, names, partial(write_whole, data=data, mode=0o600, new=True))
    except OSError as error:
        raise JobLogError(f"cannot keep {source} in {place}: {error.strerror}; free space, or "
                          "change its permissions") from None
    return f"{FOLDER}/{path.name}", hashlib.sha256(data).hexdigest(), len(data)


def _read(source: Path) -> bytes:
    try:
        if not source.is_file():
            raise JobLogError(f"{source} is no file; name one")
        if source.stat().st_size > MOST_BYTES:
            raise JobLogError(f"{source} has more than {MOST_BYTES // 1_000_000} MB; keep a "
                              "smaller copy")
        return source.read_bytes()
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) else str(error)
        raise JobLogError(f"cannot read {source}: {why}; check its permissions") from None


def _plain(name: str) -> str:
    """A name of plain letters, figures, dots and hyphens, that every system takes."""
    plain = re.sub(r"[^A-Za-z0-9._-]+", "-", name).strip(".-")
    return plain[-60:].lstrip(".-") or "file"
