"""One writer per folder: a lock that the system drops when its holder dies."""

from __future__ import annotations

import os
from pathlib import Path

from fieldvoice.errors import FieldvoiceError

_PATIENCE_S = 0.3  # whoever lists the jobs tries each lock for an instant


class HeldElsewhere(FieldvoiceError):
    """Another process holds the lock; the message is its process id."""


class Lock:
    """A locked file that carries its holder's process id. Raises HeldElsewhere or OSError."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._status: os.stat_result | None = None
        from filelock import FileLock, Timeout  # loading it takes longer than reading a log

        self._lock = FileLock(
            path, timeout=_PATIENCE_S, thread_local=False, preserve_lock_file=True,
            on_acquired=self._acquired,
        )  # fmt: skip
        try:
            self._lock.acquire()
        except Timeout:
            raise HeldElsewhere(_holder(path)) from None

    def _acquired(self, fd: int) -> None:
        _sign(fd)
        self._status = os.fstat(fd)

    def in_place(self) -> bool:
        """Whether the file that is locked is still the one of that name. Raises OSError."""
        try:
            found = self._path.lstat()
        except (FileNotFoundError, NotADirectoryError):
            return False
        return self._status is not None and os.path.samestat(found, self._status)

    def release(self) -> None:
        """Let another process in."""
        self._lock.release()


def held_by(path: Path) -> str | None:
    """The process that holds the lock; None when nobody does."""
    from filelock import FileLock, Timeout

    if not path.exists():
        return None
    lock = FileLock(path, timeout=0, thread_local=False, preserve_lock_file=True)
    try:
        lock.acquire()
    except Timeout:
        return _holder(path)
    except OSError:  # a folder that can only be read
        return None
    lock.release()
    return None


def _sign(fd: int) -> None:
    """Write who holds it, beyond the first byte: that one nobody else can read on Windows."""
    os.ftruncate(fd, 0)
    os.write(fd, f"\n{os.getpid()}\n".encode("ascii"))


def _holder(path: Path) -> str:
    with path.open("rb", buffering=0) as file:
        file.seek(1)
        return file.read(32).decode("ascii", "replace").strip() or "unknown"
