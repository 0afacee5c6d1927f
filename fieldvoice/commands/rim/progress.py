"""How far a long piece of work has come: one line on the terminal, and nothing where there is none.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import TextIO

from fieldvoice.commands.rim.telling import safe

_EVERY_S = 0.2


class Progress:
    """How much of a sound has been dealt with, on standard error where that is a terminal."""

    def __init__(
        self, path: Path, whole_s: float, out: TextIO | None = None,
        words: Callable[[float], str] = lambda seconds: clock_words(seconds),
    ) -> None:
        """`words`: how far it has come, as it is shown."""
        self._words = words
        self._out = out or sys.stderr
        self._name, self._whole_s = safe(path.name), whole_s
        self._shown = self._out.isatty() and os.environ.get("TERM", "dumb") != "dumb"
        self._next, self._width = 0.0, 0

    def at(self, done_s: float) -> None:
        """So many seconds are done."""
        if not self._shown or time.monotonic() < self._next:
            return
        self._next = time.monotonic() + _EVERY_S
        told = f"{self._name}: {self._words(done_s)} of {self._words(self._whole_s)}"
        told = told[-(os.get_terminal_size(self._out.fileno()).columns - 1):]
        self._out.write(f"\r{told:<{self._width}}")
        self._out.flush()
        self._width = len(told)

    def clear(self) -> None:
        """Make room for something else, and end."""
        if self._width:
            self._out.write(f"\r{'':{self._width}}\r")
            self._out.flush()
            self._width, self._next = 0, 0.0


def clock_words(seconds: float) -> str:
    """Minutes and seconds: "0:45", "61:05"."""
    minutes, left = divmod(int(seconds), 60)
    return f"{minutes}:{left:02}"
