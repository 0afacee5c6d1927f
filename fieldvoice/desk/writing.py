"""What a reviewer does becomes events of the job's log; never is an old line changed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from threading import Lock
from typing import Protocol

from fieldvoice.jobstate.events import Entry, Event


class WritableLog(Protocol):
    """A job's log held for writing, as devices/joblog has it."""

    next_seq: int

    def append_all(self, entries: Sequence[Entry]) -> None:
        """Write the entries of a turn: all of them or none. Raises JobLogError."""
        ...


# A job's log for as long as it takes to write, and the moment by the log's own clock. Raises
# JobLogError while another Fieldvoice has the job open.
OpenLog = Callable[[Path], AbstractContextManager[tuple[WritableLog, datetime]]]


@dataclass
class Pen:
    """Writes for all threads of this process, one after the other."""

    open_log: OpenLog
    _one: Lock

    def __init__(self, open_log: OpenLog) -> None:
        self.open_log, self._one = open_log, Lock()

    def write(self, folder: Path, events: Sequence[Event], unit: str | None) -> None:
        """Add the events of one deed to the log, as of that unit. Raises JobLogError."""
        with self._one, self.open_log(folder) as (log, now):
            log.append_all([Entry(log.next_seq + n, now, event, unit)
                            for n, event in enumerate(events)])
