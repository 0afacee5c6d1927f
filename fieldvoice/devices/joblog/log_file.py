"""The file of a log while it is written: whole pieces are added at its end, nothing else."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from fieldvoice.devices.joblog.folders import LOG_NAME
from fieldvoice.devices.joblog.lines import JobLogError
from fieldvoice.devices.joblog.refusal import refusal


class LogFile:
    """A log opened for adding to it."""

    def __init__(self, folder: Path) -> None:
        """Raises OSError."""
        self._folder = folder
        flags = os.O_RDWR | os.O_APPEND | getattr(os, "O_BINARY", 0)
        self._fd = os.open(folder / LOG_NAME, flags)
        self._size = os.fstat(self._fd).st_size

    def cut_off(self, count: int) -> None:
        """Take the last bytes away, once they are kept elsewhere. Raises OSError."""
        os.ftruncate(self._fd, self._size - count)
        os.fsync(self._fd)
        self._size -= count

    def append(self, lines: bytes) -> None:
        """All of the lines or none: what a failed write left behind is cut off before the next.

        Raises WriteRefused or JobLogError.
        """
        try:
            self._still_here()
            if os.fstat(self._fd).st_size != self._size:
                os.ftruncate(self._fd, self._size)
            rest = memoryview(lines)
            while rest:
                rest = rest[os.write(self._fd, rest) :]
            os.fsync(self._fd)
        except OSError as error:
            with contextlib.suppress(OSError):
                os.ftruncate(self._fd, self._size)
            raise refusal(self._folder, error) from None
        self._size += len(lines)

    def _still_here(self) -> None:
        """Raise JobLogError where the folder was moved away, or another one put in its place."""
        try:
            here = os.path.samestat(os.stat(self._folder / LOG_NAME), os.fstat(self._fd))
        except FileNotFoundError:
            here = False
        if not here:
            raise JobLogError(
                f"{self._folder} was moved or replaced while the job was open; all lines so far "
                "are in the folder that was moved: go on with the job from there")

    def close(self) -> None:
        """Let go of the file."""
        os.close(self._fd)
