"""Jobs of 10,000 events to measure with: `cd tests && python -m by_hand.long_job DIR [SHAPE]`."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from pathlib import Path

from fieldvoice.commands.wiring.find_procedure import find_text
from fieldvoice.commands.wiring.open_job import OpenJob
from fieldvoice.devices.clock import Clock
from fieldvoice.jobstate.events import Entry

EVENTS = 10_000
UNITS = 12


def _units(n: int) -> list[str]:
    return [f"new unit {n}", "understood"] if n <= UNITS else [
        f"unit {1 + n % UNITS}", _reading(n)]


def _reading(n: int) -> str:
    return f"vacuum {400 + n % 50} microns"


SHAPES: dict[str, Callable[[int], list[str]]] = {  # what is typed at the n-th turn
    "notes and readings": lambda n: [f"note: cap {n} is tight", _reading(n)],
    "visits of steps": lambda n: ["next", "go back"],
    "take-backs": lambda n: [_reading(n), "take that back"],
    "questions": lambda n: ["what now", "how long left"],
    "timers": lambda n: [f"start a {5 + n % 20} minute oil timer", "cancel the oil timer"],
    "units": _units,
}


def long_job(folder: Path, events: int = EVENTS, shape: str = "notes and readings") -> None:
    """Write a job of typed lines of one shape; all lines of its log are written at once."""
    text, where = find_text("evacuate-and-release")
    kept: list[Entry] = []
    with OpenJob(folder, text, where, Clock(), lambda reply: None) as job:
        job.session._append_all = lambda entries: kept.extend(entries)  # not one by one: fsync
        job.start({})
        job.session.hear_line("understood", "typed")
        number = 0
        while len(kept) < events:
            number += 1
            for line in SHAPES[shape](number):
                job.session.hear_line(line, "typed")
        _write(job, kept)


def _write(job: OpenJob, entries: Sequence[Entry]) -> None:
    job.log.append_all(entries)


if __name__ == "__main__":
    long_job(Path(sys.argv[1]), EVENTS, *sys.argv[2:3])
