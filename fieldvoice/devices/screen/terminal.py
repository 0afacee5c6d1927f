"""Drawing on a terminal, and plain lines where there is none."""

from __future__ import annotations

import os
import shutil
from collections.abc import Sequence
from typing import TextIO

from fieldvoice.devices.screen.layout import MARKS, View, layout

_COLOURS = {
    "prompt": "1",
    "caution": "1;33",
    "alert": "1;31",
    "question": "1;36",
    "answer": "0",
    "heard": "2",
    "notice": "33",
}

NOTICES_KEPT = 2


class Screen:
    """Draws on a terminal; writes plain lines when piped, without colour there or with NO_COLOR."""

    def __init__(self, out: TextIO) -> None:
        self._out = out
        self.live = out.isatty() and os.environ.get("TERM", "dumb") != "dumb"
        self._colour = self.live and not os.environ.get("NO_COLOR")
        self.view = View()

    def title(self, text: str, task: str = "") -> None:
        """Name the stage, and what its open step asks for."""
        self.view.title, self.view.task = text, task
        self._draw()

    def heard(self, words: str, confidence: float | None = None) -> None:
        """Show the line that came in; what was answered before makes room."""
        sure = "" if confidence is None else f"  ({confidence:.0%} sure)"
        self.view.heard = f"{words or '(nothing of ours)'}{sure}"
        self.view.replies.clear()
        self._say("heard", f"{self.view.heard}")

    def reply(self, text: str, tone: str) -> None:
        """Show an answer, prompt, question, caution or alert."""
        self.view.replies.append((text, tone))
        self._say(tone, text)

    def figure(self, text: str, label: str) -> None:
        """Draw a value large: digits, sign and point only."""
        self.view.figure, self.view.figure_label = text, label
        self._draw()

    def timers(self, running: Sequence[tuple[str, float]]) -> None:
        """Show what is left, in seconds; drawn on a live terminal only."""
        self.view.timers = running
        self._draw()

    def notice(self, text: str) -> None:
        """Show what the user must know about the devices or the log."""
        older = [notice for notice in self.view.notices if notice != text]
        self.view.notices = [*older, text][-NOTICES_KEPT:]
        self._say("notice", text)

    def prompt(self) -> None:
        """Show that a typed line may come."""
        if self.live:
            height = shutil.get_terminal_size().lines
            self._out.write(f"\x1b[{height};1H\x1b[K> ")
            self._out.flush()

    def close(self) -> None:
        """Leave the terminal as it was, below what was drawn."""
        if self.live:
            self._out.write(f"\x1b[{shutil.get_terminal_size().lines};1H\n")
            self._out.flush()

    def _say(self, tone: str, text: str) -> None:
        if self.live:
            self._draw(clear=True)
        else:
            lines = text.replace("\n", f"\n{'':9}")
            self._out.write(f"{MARKS.get(tone, tone):>8} {lines}\n")
            self._out.flush()

    def _draw(self, clear: bool = False) -> None:
        if not self.live:
            return
        width, height = shutil.get_terminal_size()
        lines = layout(self.view, width, height - 1)
        drawn = "".join(f"\x1b[{row};1H\x1b[K{self._coloured(*line)}"
                        for row, line in enumerate(lines, start=1))  # fmt: skip
        rest = f"\x1b[{len(lines) + 1};1H\x1b[J" if clear else ""
        # The cursor is put back, so that a line being typed at the bottom is left alone.
        self._out.write(f"\x1b7{rest}{drawn}\x1b8")
        self._out.flush()
        if clear:
            self.prompt()

    def _coloured(self, text: str, tone: str) -> str:
        return f"\x1b[{_COLOURS.get(tone, '0')}m{text}\x1b[0m" if self._colour else text
