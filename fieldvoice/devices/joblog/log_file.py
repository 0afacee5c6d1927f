"""The file of a log while it is written: lines are added at its end, and nothing else is touched.

All that was written is held in memory as well: so that it is seen when anybody else changed the
file, and so that a rescue file is whole whatever became of the log.
"""

from __future__ import annotations

import os
from pathlib import Path

from fieldvoice.devices.joblog.folders import LOG_NAME
from fieldvoice.devices.joblog.inside import refuse_link
from fieldvoice.devices.joblog.lines import JobLogError
from fieldvoice.devices.joblog.lock import Lock
from fieldvoice.devices.joblog.refusal import refusal
from fieldvoice.devices.joblog.rescue import RescueFile
from fieldvoice.devices.joblog.untouched import Untouched, read_all

_FLAGS = os.O_RDWR | os.O_APPEND | getattr(os, "O_BINARY", 0) | getattr(os, "O_NOFOLLOW", 0)


class LogFile:
    """A log opened for adding to it, by the holder of its folder's lock."""

    def __init__(self, folder: Path, lock: Lock) -> None:
        """Raises OSError, or JobLogError where the log is a link."""
        self._folder = folder
        refuse_link(folder / LOG_NAME)
        refuse_link(folder / "clips")
        self._fd = os.open(folder / LOG_NAME, _FLAGS)
        self._kept = bytearray(read_all(self._fd))  # what is on disk, as it was written
        self._tried = b""  # what a write that failed may have left a part of
        self._untouched = Untouched(folder, self._fd, lock)
        self._rescue: RescueFile | None = None
        self.waiting = b""  # lines that count, but are not in the log yet
        self.trouble: JobLogError | None = None  # why not

    def cut_off(self, count: int) -> None:
        """Take the last bytes away, once they are kept elsewhere. Raises OSError."""
        os.ftruncate(self._fd, len(self._kept) - count)
        os.fsync(self._fd)
        del self._kept[len(self._kept) - count :]
        self._untouched.changed()

    def keep_aside(self, rescue: RescueFile) -> None:
        """From here on lines that cannot be written wait, and lie in a rescue file meanwhile."""
        self._rescue = rescue

    @property
    def rescue(self) -> Path | None:
        """The file in which the whole log with the waiting lines lies; None: in memory alone."""
        return None if self._rescue is None else self._rescue.path

    def check(self) -> None:
        """Raise JobLogError where lines wait, or where somebody else changed the log; OSError where
        the disk does not tell.
        """
        if self.trouble is not None:
            raise self.trouble
        self._untouched.check(self._kept, self._tried)

    def retry(self) -> None:
        """Try again to write what waits."""
        if self.waiting:
            self.append(b"")

    def append(self, lines: bytes) -> None:
        """All of the lines or none, after those that wait: on disk when this returns.

        Raises WriteRefused or JobLogError, unless they are to wait then: see `trouble`.
        """
        try:
            self._write(self.waiting + lines)
        except JobLogError as error:
            if self._rescue is None:
                raise
            self.trouble, self.waiting = error, self.waiting + lines
            self._rescue.keep(bytes(self._kept) + self.waiting)
            return
        if self.waiting and self._rescue is not None:
            self._rescue.discard()
        self.trouble, self.waiting = None, b""

    def _write(self, lines: bytes) -> None:
        try:
            self._untouched.check(self._kept, self._tried)
            self._cut_own_rest()
            self._tried = lines
            rest = memoryview(lines)
            while rest:
                rest = rest[os.write(self._fd, rest) :]
            os.fsync(self._fd)
        except OSError as error:
            self._try_to_cut()
            raise refusal(self._folder, error) from None
        self._kept += lines
        self._tried = b""
        self._untouched.changed()

    def _cut_own_rest(self) -> None:
        """Cut off what a failed write of ours left; nobody else's bytes."""
        if self._tried:
            if os.fstat(self._fd).st_size > len(self._kept):
                os.ftruncate(self._fd, len(self._kept))
            self._tried = b""
            self._untouched.changed()

    def _try_to_cut(self) -> None:
        try:
            self._untouched.check(self._kept, self._tried)
            self._cut_own_rest()
        except (OSError, JobLogError):
            return  # the next write finds it and tries again, or tells who else wrote

    def close(self) -> None:
        """Let go of the file."""
        os.close(self._fd)
