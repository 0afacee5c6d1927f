"""A job followed as on a screen of 80 by 24, without a terminal."""

from __future__ import annotations

import re
from datetime import datetime

from fieldvoice.commands.wiring.screen.screen_output import Follower
from fieldvoice.devices.screen import Devices
from fieldvoice.devices.screen.bigtype import big, half
from fieldvoice.devices.screen.board import Board
from fieldvoice.devices.screen.layout import layout
from fieldvoice.dialogue.assistant import Reply
from fieldvoice.jobstate.events import Entry
from fieldvoice.jobstate.job import Job
from fieldvoice.jobstate.state import JobState


class Shown:
    """What `JobOutput` asks for, and the lines that a screen would have."""

    keyboard = True

    def __init__(self) -> None:
        self.board = Board()
        self._follow = Follower(self.board)
        self.notice = self.board.notice

    def entry(self, entry: Entry) -> None:
        """An event was logged."""
        self._follow.entry(entry)

    def reply(self, reply: Reply) -> None:
        """Something was answered."""
        self._follow.reply(reply)

    def show(self, job: JobState | Job, now: datetime, devices: Devices = Devices()) -> None:  # noqa: B008
        """The job stands so now."""
        self._follow.show(job, now, devices)

    def close(self) -> None:
        """Nothing is open."""

    def lines(self, width: int = 80, height: int = 23) -> list[str]:
        """The screen above the typed line."""
        return ["".join(text for text, _ in row)
                for row in layout(self.board.moment, width, height)]


def stands_whole(figures: str, lines: list[str]) -> bool:
    """In one of the large types, or in plain with nothing cut from it."""
    text = "\n".join(lines)
    return stands_large(figures, lines) or re.search(
        rf"(?<![\d.:]){re.escape(figures)}(?![\d.:])", text) is not None


def stands_large(figures: str, lines: list[str]) -> bool:
    """In one of the large types, row below row."""
    text = "\n".join(lines)
    forms = [big(figures, space, scale, ink) for ink in "█#" for scale in (1, 2, 3)
             for space in (1, 2)] + [half(figures)]  # fmt: skip
    return any(all(row.strip() in text for row in form) for form in forms)
