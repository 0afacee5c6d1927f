"""The real program on a pseudo-terminal, with an emulator that keeps what it draws."""

from __future__ import annotations

import fcntl
import os
import select
import signal
import struct
import subprocess
import termios
import time
from collections.abc import Mapping, Sequence
from pathlib import Path
from types import TracebackType

import pyte

PATIENCE_S = 40.0  # generous: machines are busy


class RealTerminal:
    """A command on a terminal of a size; close it when done."""

    def __init__(
        self, command: Sequence[str], env: Mapping[str, str], folder: Path, width: int = 80,
        height: int = 24,
    ) -> None:
        self._ours, theirs = os.openpty()
        self.raw = b""
        self._screen = pyte.Screen(width, height)
        self._stream = pyte.ByteStream(self._screen)
        self.resize(width, height)
        self.modes = termios.tcgetattr(theirs)
        self.process = subprocess.Popen(
            command, stdin=theirs, stdout=theirs, stderr=theirs, env={**os.environ, **env},
            cwd=folder, start_new_session=True,
            preexec_fn=lambda: fcntl.ioctl(0, termios.TIOCSCTTY, 0),
        )  # fmt: skip
        self._theirs = theirs

    def resize(self, width: int, height: int) -> None:
        """Another size, as a window manager gives it."""
        size = struct.pack("HHHH", height, width, 0, 0)
        fcntl.ioctl(self._ours, termios.TIOCSWINSZ, size)
        self._screen.resize(height, width)

    def type(self, keys: str) -> None:
        """Keys as a terminal sends them."""
        os.write(self._ours, keys.encode())

    @property
    def lines(self) -> list[str]:
        """What is on the screen now."""
        self._read(0.05)
        return [line.rstrip() for line in self._screen.display]

    @property
    def text(self) -> str:
        """The same as one text."""
        return "\n".join(self.lines)

    @property
    def modes_now(self) -> list[object]:
        """How the terminal is set."""
        return list(termios.tcgetattr(self._theirs))

    def wait_for(self, *wanted: str) -> str:
        """Until all of that is on the screen; returns the screen. Fails with it after a while."""
        until = time.monotonic() + PATIENCE_S
        while not all(part in self.text for part in wanted):
            assert time.monotonic() < until, f"{wanted} is not on the screen:\n{self.text}"
            self._read(0.1)
        return self.text

    def wait(self) -> int:
        """Until the program ends; returns its exit code."""
        until = time.monotonic() + PATIENCE_S
        while self.process.poll() is None:
            assert time.monotonic() < until, f"it does not end:\n{self.text}"
            self._read(0.1)
        self._read(0.2)
        assert self.process.returncode is not None
        return self.process.returncode

    def _read(self, seconds: float) -> None:
        while select.select([self._ours], [], [], seconds)[0]:
            found = os.read(self._ours, 65_536)
            self.raw += found
            self._stream.feed(found)
            seconds = 0.0

    def __enter__(self) -> RealTerminal:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self.process.poll() is None:
            os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()
        os.close(self._theirs)
        os.close(self._ours)
