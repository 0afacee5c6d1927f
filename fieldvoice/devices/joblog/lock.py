"""One writer per folder: a lock that the system drops when its holder dies."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from fieldvoice.errors import FieldvoiceError


class HeldElsewhere(FieldvoiceError):
    """Another process holds the lock; the message is its process id."""


class Lock:
    """A locked file that carries its holder's process id. Raises HeldElsewhere or OSError."""

    def __init__(self, path: Path) -> None:
        self._fd = os.open(path, os.O_RDWR | os.O_CREAT, 0o644)
        try:
            _lock_or_fail(self._fd)
        except OSError:
            holder = os.read(self._fd, 32).decode("ascii", "replace").strip() or "unknown"
            os.close(self._fd)
            raise HeldElsewhere(holder) from None
        os.ftruncate(self._fd, 0)
        os.write(self._fd, f"{os.getpid()}\n".encode("ascii"))

    def release(self) -> None:
        """Let another process in."""
        os.close(self._fd)


def _lock_or_fail(fd: int) -> None:
    if sys.platform == "win32":
        import msvcrt

        os.lseek(fd, 4096, os.SEEK_SET)  # beyond the process id, which must stay readable
        msvcrt.locking(fd, msvcrt.LK_NBLCK, 1)
        os.lseek(fd, 0, os.SEEK_SET)
    else:
        import fcntl

        fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
