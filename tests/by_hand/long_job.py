"""A job of 10,000 events, to measure with: `cd tests && python -m by_hand.long_job FOLDER`."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

from fieldvoice.commands.wiring.find_procedure import find_text
from fieldvoice.commands.wiring.open_job import OpenJob
from fieldvoice.devices.clock import Clock
from fieldvoice.jobstate.events import Entry

EVENTS = 10_000


def long_job(folder: Path, events: int = EVENTS) -> None:
    """Write a job with many typed notes and readings; all lines are written at once."""
    text, where = find_text("evacuate-and-release")
    kept: list[Entry] = []
    with OpenJob(folder, text, where, Clock(), lambda reply: None) as job:
        job.session._append_all = lambda entries: kept.extend(entries)  # not one by one: fsync
        job.start({})
        number = 0
        while len(kept) < events:
            number += 1
            job.session.hear_line(f"note: cap {number} is tight", "typed")
            job.session.hear_line(f"vacuum {400 + number % 50} microns", "typed")
        _write(job, kept)


def _write(job: OpenJob, entries: Sequence[Entry]) -> None:
    job.log.append_all(entries)


if __name__ == "__main__":
    long_job(Path(sys.argv[1]))
