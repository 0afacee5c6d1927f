"""Whether a log, its folder and its lock are still as its one writer left them."""

from __future__ import annotations

import os
import stat
from pathlib import Path
from typing import NoReturn

from fieldvoice.devices.joblog.folders import LOG_NAME
from fieldvoice.devices.joblog.lines import JobLogError
from fieldvoice.devices.joblog.lock import Lock


class LogDisturbed(JobLogError):
    """Somebody else changed the log, its folder or its lock while it was written."""

    def __init__(self, folder: Path, reason: str) -> None:
        super().__init__(
            f"the job in {folder} was disturbed while it was open: {reason}; nothing more is "
            "written there. Look who did that, and open the job again")
        self.reason = reason  # in a few words, to be said


class Untouched:
    """What a log was like when its writer let go of it last."""

    def __init__(self, folder: Path, fd: int, lock: Lock) -> None:
        """`fd`: the open log. Raises OSError."""
        self._folder, self._fd, self._lock = folder, fd, lock
        self._folder_was = folder.stat()
        self._log_was = os.fstat(fd)

    def changed(self) -> None:
        """The writer itself has changed the log. Raises OSError."""
        self._log_was = os.fstat(self._fd)

    def check(self, written: bytearray, tried: bytes) -> None:
        """Raise LogDisturbed unless the log holds what was written, and no more than a part of
        what was tried and failed; OSError where the disk does not tell.
        """
        self._check_places()
        now = os.fstat(self._fd)
        if now.st_size == len(written) and now.st_mtime_ns == self._log_was.st_mtime_ns:
            return
        self._check_bytes(written, tried)
        if not tried:
            self._log_was = now  # touched, and not changed

    def _check_places(self) -> None:
        folder = _status(self._folder, follow=True)
        if folder is None or not os.path.samestat(folder, self._folder_was):
            self._disturbed("its folder was moved, replaced or removed")
        log = _status(self._folder / LOG_NAME)
        if log is None:
            self._disturbed("the log was removed")
        if not os.path.samestat(log, self._log_was):
            self._disturbed("the log was replaced")
        if log.st_nlink != 1 or not stat.S_ISREG(log.st_mode):
            self._disturbed("the log was given a second name")
        if not self._lock.in_place():
            self._disturbed("its lock was removed or replaced, so that others may write")

    def _check_bytes(self, written: bytearray, tried: bytes) -> None:
        found = read_all(self._fd)
        if len(found) < len(written):
            self._disturbed("the log was cut short")
        if not found.startswith(written):
            self._disturbed("lines of the log were changed")
        if not tried.startswith(found[len(written) :]):
            self._disturbed("something else wrote in the log")

    def _disturbed(self, reason: str) -> NoReturn:
        raise LogDisturbed(self._folder, reason)


def _status(path: Path, *, follow: bool = False) -> os.stat_result | None:
    try:
        return os.stat(path, follow_symlinks=follow)
    except (FileNotFoundError, NotADirectoryError):
        return None


def read_all(fd: int) -> bytes:
    """The bytes of an open file. Raises OSError."""
    os.lseek(fd, 0, os.SEEK_SET)
    found = bytearray()
    while part := os.read(fd, 1 << 20):
        found += part
    return bytes(found)
