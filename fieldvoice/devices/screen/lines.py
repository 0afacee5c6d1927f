"""Plain lines: for a pipe, a terminal that cannot be drawn on, and a screen reader."""

from __future__ import annotations

from typing import TextIO

from fieldvoice.devices.screen.parts import MARKS
from fieldvoice.devices.screen.printable import printable
from fieldvoice.devices.screen.view import heard_line


class LineScreen:
    """Writes each announcement once, and moves nothing; `one_line`: each on a single line.

    A notice may come from any thread.
    """

    def __init__(self, out: TextIO, *, one_line: bool = False) -> None:
        self._out, self._one_line = out, one_line

    def heard(self, words: str, sure: float | None, outcome: str) -> None:
        """A line came in."""
        self._write("heard", heard_line(words, sure, outcome))

    def reply(self, text: str, tone: str) -> None:
        """An answer, prompt, question, caution or alert."""
        self._write(tone, text)

    def notice(self, text: str) -> None:
        """What the user must know about the devices or the log."""
        self._write("notice", text)

    def _write(self, tone: str, text: str) -> None:
        between = "  " if self._one_line else f"\n{'':9}"
        lines = between.join(printable(line.strip() if self._one_line else line)
                             for line in text.split("\n"))  # fmt: skip
        line = f"{MARKS.get(tone, tone):>8} {lines}\n"
        encoding = getattr(self._out, "encoding", None) or "utf-8"
        self._out.write(line.encode(encoding, "replace").decode(encoding))
        self._out.flush()
