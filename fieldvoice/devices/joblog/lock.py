"""One writer per folder: a lock that the system drops when its holder dies."""

from __future__ import annotations

import os
from pathlib import Path

from fieldvoice.errors import FieldvoiceError


class HeldElsewhere(FieldvoiceError):
    """Another process holds the lock; the message is its process id."""


class Lock:
    """A locked file that carries its holder's process id. Raises HeldElsewhere or OSError."""

    def __init__(self, path: Path) -> None:
        from filelock import FileLock, Timeout  # loading it takes longer than reading a log

        self._lock = FileLock(
            path, timeout=0, thread_local=False, preserve_lock_file=True, on_acquired=_sign
        )
        try:
            self._lock.acquire()
        except Timeout:
            raise HeldElsewhere(_holder(path)) from None

    def release(self) -> None:
        """Let another process in."""
        self._lock.release()


def _sign(fd: int) -> None:
    """Write who holds it, beyond the first byte: that one nobody else can read on Windows."""
    os.ftruncate(fd, 0)
    os.write(fd, f"\n{os.getpid()}\n".encode("ascii"))


def _holder(path: Path) -> str:
    with path.open("rb", buffering=0) as file:
        file.seek(1)
        return file.read(32).decode("ascii", "replace").strip() or "unknown"
