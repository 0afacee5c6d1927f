"""A job at work as people follow it: a screen that has the keyboard, or plain lines."""

from __future__ import annotations

import math
import sys
import threading
from datetime import datetime
from typing import TYPE_CHECKING, TextIO

from fieldvoice.commands.wiring.listening import Arrivals, Deed, Ended, Line
from fieldvoice.commands.wiring.screen_state import screen_state
from fieldvoice.devices.screen import Devices, Said, View
from fieldvoice.devices.screen.board import Board
from fieldvoice.devices.screen.lines import LineScreen
from fieldvoice.devices.screen.terminal import is_ascii, is_terminal, wants_colour
from fieldvoice.dialogue.assistant import Reply
from fieldvoice.jobstate.events import Entry, LineHeard
from fieldvoice.jobstate.job import Job
from fieldvoice.jobstate.state import JobState

if TYPE_CHECKING:
    from fieldvoice.devices.screen.live import LiveScreen

_NO_DEVICES = Devices()


def open_output(arrivals: Arrivals, *, lines: bool = False) -> ScreenOutput | LineOutput:
    """The screen where standard input and output are a terminal; else, or with `lines`, lines."""
    stdin, stdout = sys.stdin, sys.stdout
    if lines or not (stdin.isatty() and is_terminal(stdout)):
        return LineOutput(stdout, one_line=lines)
    return ScreenOutput(stdin, stdout, arrivals)


class LineOutput:
    """Each announcement once; nothing is drawn."""

    keyboard = False

    def __init__(self, out: TextIO, *, one_line: bool = False) -> None:
        self._lines = LineScreen(out, one_line=one_line)
        self.notice = self._lines.notice

    def entry(self, entry: Entry) -> None:
        """Lines that came in."""
        if isinstance(entry.event, LineHeard):
            self._lines.heard(entry.event.words, entry.event.confidence, entry.event.outcome)

    def reply(self, reply: Reply) -> None:
        """Write it."""
        self._lines.reply(reply.text, reply.tone)

    def show(self, job: JobState | Job, now: datetime, devices: Devices = _NO_DEVICES) -> None:
        """Nothing: what changed was written."""

    def close(self) -> None:
        """Nothing: every line is out already."""


class ScreenOutput:
    """The screen; where it cannot go on, plain lines take its place and the keyboard goes on."""

    keyboard = True

    def __init__(self, stdin: TextIO, stdout: TextIO, arrivals: Arrivals) -> None:
        from fieldvoice.devices.screen.live import Hands, LiveScreen

        self._stdin, self._stdout, self._arrivals = stdin, stdout, arrivals
        self.board = Board(plain=is_ascii(stdout))
        self.board.update(View(title="Opening the job"), _NO_DEVICES)
        self._follow = Follower(self.board)
        self._lines: LineOutput | None = None
        hands = Hands(lambda words: arrivals.put(Line(words, "typed")),
                      lambda name: arrivals.put(Deed(name)),
                      lambda: arrivals.put(Ended("typed")), self._go_on_in_lines)
        self._live: LiveScreen = LiveScreen(
            self.board, hands, stdin, stdout, colour=wants_colour(stdout))
        self._live.start()

    def entry(self, entry: Entry) -> None:
        """Lines that came in are shown; what else was logged shows in the job state."""
        self._follow.entry(entry)
        if self._lines:
            self._lines.entry(entry)

    def reply(self, reply: Reply) -> None:
        """A part of the talk."""
        self._follow.reply(reply)
        if self._lines:
            self._lines.reply(reply)

    def notice(self, text: str) -> None:
        """At the foot of the screen; may come from any thread."""
        self.board.notice(text)
        if self._lines:
            self._lines.notice(text)
        else:
            self._live.changed()

    def show(self, job: JobState | Job, now: datetime, devices: Devices = _NO_DEVICES) -> None:
        """Draw what changed."""
        if self._follow.show(job, now, devices) and not self._lines:
            self._live.changed()

    def close(self) -> None:
        """Leave the terminal as it was, with the last words of the job on it."""
        self._live.close()
        if self._lines is None:
            lines = LineScreen(self._stdout)
            for said in self._follow.last_burst():
                lines.reply(said.text, said.tone)

    def _go_on_in_lines(self, why: str) -> None:
        self._lines = LineOutput(self._stdout)
        self._lines.notice(f"The screen failed ({why}): plain lines from here, typing goes on.")
        threading.Thread(target=self._type_on, name="keys", daemon=True).start()

    def _type_on(self) -> None:
        for text in self._stdin:
            if text.strip():
                self._arrivals.put(Line(text.strip(), "typed"))
        self._arrivals.put(Ended("typed"))


class Follower:
    """Keeps a board up with a job: what was said, and the view of it when that can have changed."""

    def __init__(self, board: Board) -> None:
        self._board = board
        self._clock = ""  # of the newest entry
        self._shown: tuple[JobState | Job, int, Devices] | None = None
        self._talked = False

    def entry(self, entry: Entry) -> None:
        """A line that came in begins a new part of the talk."""
        self._clock = f"{entry.at:%H:%M}"
        if isinstance(entry.event, LineHeard):
            heard = entry.event
            self._say(Said(self._clock, heard.words, "heard", heard.outcome, heard.confidence))

    def reply(self, reply: Reply) -> None:
        """What was answered."""
        self._say(Said(self._clock, reply.text, reply.tone))

    def _say(self, said: Said) -> None:
        self._board.say(said)
        self._talked = True

    def show(self, job: JobState | Job, now: datetime, devices: Devices = _NO_DEVICES) -> bool:
        """Take in how the job stands; returns whether there is anything new to draw."""
        second = math.floor(now.timestamp())
        new, self._talked = self._talked, False
        before, self._shown = self._shown, (job, second, devices)
        if before and before[0] is job and (before[1] == second or not _runs(job)):
            return self._board.update(self._board.moment.view, devices) or new
        return self._board.update(screen_state(job, now), devices) or new

    def last_burst(self) -> list[Said]:
        """What was answered to the last line."""
        found: list[Said] = []
        for said in reversed(self._board.moment.talk):
            if said.tone == "heard":
                break
            found.insert(0, said)
        return found


def _runs(job: JobState | Job) -> bool:
    """Whether time alone changes what is shown."""
    states = [job] if isinstance(job, JobState) else job.states.values()
    return any(timer.running for state in states for timer in state.timers.values())
