"""Drawing on a terminal, and plain lines where there is none."""

from __future__ import annotations

import os
import shutil
from typing import TextIO

from fieldvoice.devices.screen.layout import MARKS, layout
from fieldvoice.devices.screen.printable import printable
from fieldvoice.devices.screen.view import View, heard_line

_COLOURS = {
    "prompt": "1",
    "caution": "1;33",
    "alert": "1;31",
    "question": "1;36",
    "answer": "0",
    "heard": "2",
    "banner": "7",
    "notice": "33",
}
_SAVE, _BACK = "\x1b7", "\x1b8"  # the cursor, so that a line being typed is left alone
_NO_WRAP, _WRAP = "\x1b[?7l", "\x1b[?7h"  # wide characters must not push lines down
_CLEAR = "\x1b[2J"

NOTICES_KEPT = 2


def is_terminal(out: TextIO) -> bool:
    """Whether `out` can be drawn on."""
    return out.isatty() and os.environ.get("TERM", "dumb") != "dumb"


def wants_colour(out: TextIO) -> bool:
    """Whether it may be drawn in colours."""
    return is_terminal(out) and not os.environ.get("NO_COLOR")


class Screen:
    """Draws on a terminal; writes plain lines when piped, without colour there or with NO_COLOR.

    It keeps what is of this session alone: the newest replies and notices. What is of the job comes
    with each view. Notices may come from any thread; only `show` and `prompt` draw.
    """

    def __init__(self, out: TextIO) -> None:
        self._out = out
        self.live = is_terminal(out)
        self._colour = wants_colour(out)
        self._replies: list[tuple[str, str]] = []
        self._notices: list[str] = []
        self._size: os.terminal_size | None = None  # as last drawn

    def heard(self, words: str, sure: float | None, outcome: str) -> None:
        """A line came in: what was answered before makes room."""
        self._replies.clear()
        self._write("heard", heard_line(words, sure, outcome))

    def reply(self, text: str, tone: str) -> None:
        """An answer, prompt, question, caution or alert."""
        self._replies.append((text, tone))
        self._write(tone, text)

    def notice(self, text: str) -> None:
        """What the user must know about the devices or the log."""
        self._notices = [*(n for n in self._notices if n != text), text][-NOTICES_KEPT:]
        self._write("notice", text)

    def show(self, view: View) -> None:
        """Draw everything, on a terminal; a line being typed at the bottom stays."""
        if not self.live:
            return
        size = shutil.get_terminal_size()
        if size != self._size:
            self._out.write(_CLEAR)
            self.prompt()
        self._size = size
        lines = layout(view, self._replies, self._notices, size.columns, size.lines - 1)
        drawn = "".join(f"\x1b[{row};1H\x1b[K{self._coloured(*line)}"
                        for row, line in enumerate(lines, start=1))  # fmt: skip
        self._out.write(f"{_SAVE}{_NO_WRAP}{drawn}{_WRAP}{_BACK}")
        self._out.flush()

    def prompt(self) -> None:
        """Show that a typed line may come, on a terminal; the last one is gone."""
        if self.live:
            self._out.write(f"\x1b[{shutil.get_terminal_size().lines};1H\x1b[K> ")
            self._out.flush()

    def close(self) -> None:
        """Leave the terminal as it was, below what was drawn."""
        if self.live:
            self._out.write(f"\x1b[{shutil.get_terminal_size().lines};1H\n")
            self._out.flush()

    def _write(self, tone: str, text: str) -> None:
        if not self.live:
            lines = f"\n{'':9}".join(map(printable, text.split("\n")))
            self._out.write(f"{MARKS.get(tone, tone):>8} {lines}\n")
            self._out.flush()

    def _coloured(self, text: str, tone: str) -> str:
        safe = printable(text)
        return f"\x1b[{_COLOURS.get(tone, '0')}m{safe}\x1b[0m" if self._colour else safe
