"""Where a job at work is followed: by people on a screen (screen_output.py), or by a program."""

from __future__ import annotations

from datetime import datetime
from typing import Any, Protocol, TextIO

from fieldvoice.commands.rim.telling import tell, tell_json
from fieldvoice.devices.joblog.lines import written_offset, written_utc
from fieldvoice.devices.screen import Devices
from fieldvoice.dialogue.assistant import Reply
from fieldvoice.jobstate.events import SCHEMA_VERSION, Entry
from fieldvoice.jobstate.job import Job
from fieldvoice.jobstate.state import JobState

_NO_DEVICES = Devices()


class JobOutput(Protocol):
    """What is told of a job while it is worked on; `keyboard`: typed lines come from it."""

    keyboard: bool

    def entry(self, entry: Entry) -> None:
        """An event was logged."""

    def reply(self, reply: Reply) -> None:
        """An answer, once all that it rests on is logged."""

    def notice(self, text: str) -> None:
        """What the user must know about the devices or the log; may come from any thread."""

    def show(self, job: JobState | Job, now: datetime, devices: Devices = _NO_DEVICES) -> None:
        """How the job stands now; comes after every turn, and about four times a second."""

    def close(self) -> None:
        """Nothing more comes."""


class JsonOutput:
    """One JSON object a line, written out at once: events as they were logged, and replies."""

    keyboard = False

    def __init__(self, out: TextIO, notices: TextIO) -> None:
        self._out, self._notices = out, notices

    def entry(self, entry: Entry) -> None:
        """The event as its line in the log has it, without what chains the lines."""
        self._write({
            "v": SCHEMA_VERSION, "seq": entry.seq, "utc": written_utc(entry.at),
            "offset": written_offset(entry.at), "kind": entry.event.kind,
            **({} if entry.unit is None else {"unit": entry.unit}),
            "data": entry.event.to_dict(),
        })  # fmt: skip

    def reply(self, reply: Reply) -> None:
        """Text as shown, tone, and the text that a voice would say."""
        spoken = reply.told if reply.aloud else ""
        self._write({"reply": reply.text, "tone": reply.tone, "spoken": spoken})

    def notice(self, text: str) -> None:
        """Beside the lines, not among them."""
        tell(f"fieldvoice: {text}", file=self._notices)

    def show(self, job: JobState | Job, now: datetime, devices: Devices = _NO_DEVICES) -> None:
        """Nothing: whoever reads the events knows the state."""

    def close(self) -> None:
        """Nothing: every line is out already."""

    def _write(self, found: dict[str, Any]) -> None:
        tell_json(found, self._out)
