"""What is said of a disk that does not take what it is given."""

from __future__ import annotations

import errno
from pathlib import Path

from fieldvoice.devices.joblog.lines import WriteRefused

_FULL = (errno.ENOSPC, errno.EFBIG, getattr(errno, "EDQUOT", errno.ENOSPC))


def refusal(folder: Path, error: OSError) -> WriteRefused:
    """The error to raise where the system refused to write in a job's folder."""
    reason = error.strerror or str(error)
    full = error.errno in _FULL
    return WriteRefused(
        f"cannot write in {folder}: {reason}; free space, change its permissions, or name another "
        "folder with --job", "the disk is full" if full else reason[:1].lower() + reason[1:])


def unwritten(error: Exception) -> str:
    """What the system says of a file that it did not take, with its name."""
    if not isinstance(error, OSError):
        return str(error)
    return f"{error.filename or 'it'}: {error.strerror or error}"
