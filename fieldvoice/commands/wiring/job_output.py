"""Where a job at work is followed: on a screen, or as JSON lines by a program."""

from __future__ import annotations

from datetime import datetime
from typing import Any, Protocol, TextIO

from fieldvoice.commands.rim.telling import tell, tell_json
from fieldvoice.commands.wiring.screen_state import screen_state
from fieldvoice.devices.screen import Screen
from fieldvoice.dialogue.assistant import Reply
from fieldvoice.jobstate.events import SCHEMA_VERSION, Entry, LineHeard
from fieldvoice.jobstate.job import Job
from fieldvoice.jobstate.state import JobState


class JobOutput(Protocol):
    """What is told of a job while it is worked on."""

    def entry(self, entry: Entry) -> None:
        """An event was logged."""

    def reply(self, reply: Reply) -> None:
        """An answer, once all that it rests on is logged."""

    def notice(self, text: str) -> None:
        """What the user must know about the devices or the log; may come from any thread."""

    def show(self, job: JobState | Job, now: datetime) -> None:
        """How the job stands now; comes after every turn, and about four times a second."""

    def prompt(self) -> None:
        """A typed line was dealt with; the next one may come."""

    def close(self) -> None:
        """Nothing more comes."""


class ScreenOutput:
    """A terminal, or plain lines for people where there is none."""

    def __init__(self, out: TextIO) -> None:
        self._screen = Screen(out)
        self.notice, self.prompt, self.close = (
            self._screen.notice, self._screen.prompt, self._screen.close,
        )  # fmt: skip

    def entry(self, entry: Entry) -> None:
        """Lines that came in are shown; what else was logged shows in the job state."""
        if isinstance(entry.event, LineHeard):
            self._screen.heard(entry.event.words, entry.event.confidence, entry.event.outcome)

    def reply(self, reply: Reply) -> None:
        """Show it until the next line comes in."""
        self._screen.reply(reply.text, reply.tone)

    def show(self, job: JobState | Job, now: datetime) -> None:
        """Draw the job as its state has it."""
        if self._screen.live:
            self._screen.show(screen_state(job, now))


class JsonOutput:
    """One JSON object a line, written out at once: events as they were logged, and replies."""

    def __init__(self, out: TextIO, notices: TextIO) -> None:
        self._out, self._notices = out, notices

    def entry(self, entry: Entry) -> None:
        """The event as its line in the log has it, without what chains the lines."""
        self._write({
            "v": SCHEMA_VERSION, "seq": entry.seq, "utc": entry.at.isoformat(),
            "kind": entry.event.kind, **({} if entry.unit is None else {"unit": entry.unit}),
            "data": entry.event.to_dict(),
        })  # fmt: skip

    def reply(self, reply: Reply) -> None:
        """Text as shown, tone, and the text that a voice would say."""
        spoken = reply.told if reply.aloud else ""
        self._write({"reply": reply.text, "tone": reply.tone, "spoken": spoken})

    def notice(self, text: str) -> None:
        """Beside the lines, not among them."""
        tell(f"fieldvoice: {text}", file=self._notices)

    def show(self, job: JobState | Job, now: datetime) -> None:
        """Nothing: whoever reads the events knows the state."""

    def prompt(self) -> None:
        """Nothing: a program waits for no prompt."""

    def close(self) -> None:
        """Nothing: every line is out already."""

    def _write(self, found: dict[str, Any]) -> None:
        tell_json(found, self._out)
