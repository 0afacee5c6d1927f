"""What is printed while a recording is heard into a job: as JSON lines, or for people."""

from __future__ import annotations

import sys
from typing import Protocol

from fieldvoice.commands.rim.telling import tell_trouble
from fieldvoice.commands.wiring.job_output import JsonOutput
from fieldvoice.commands.wiring.replay_printer import ReplayPrinter
from fieldvoice.devices.clock import SimulatedClock
from fieldvoice.dialogue.assistant import Reply
from fieldvoice.jobstate.events import Entry


class Told(Protocol):
    """Whom events, replies and notices are told."""

    def entry(self, entry: Entry) -> None:
        """An event was logged."""

    def reply(self, reply: Reply) -> None:
        """What Fieldvoice would have answered on site."""

    def notice(self, text: str) -> None:
        """What the user must know about recording or log."""


class Printed:
    """A line each, with its time in front."""

    def __init__(self, clock: SimulatedClock) -> None:
        self._printer = ReplayPrinter(clock)

    def entry(self, entry: Entry) -> None:
        """What was heard and what it meant, and the readings."""
        self._printer.entry(entry)

    def reply(self, reply: Reply) -> None:
        """What would have been answered."""
        self._printer.reply(reply)

    def notice(self, text: str) -> None:
        """On standard error."""
        tell_trouble(text)


def told(clock: SimulatedClock, as_json: bool) -> Told:
    """Whom it is told."""
    return JsonOutput(sys.stdout, sys.stderr) if as_json else Printed(clock)
