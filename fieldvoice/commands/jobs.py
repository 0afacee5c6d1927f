"""`fieldvoice jobs`: the jobs on this computer."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldvoice.commands.wiring.errors import OK

if TYPE_CHECKING:
    from fieldvoice.devices.joblog import LogRead
    from fieldvoice.jobstate.events import Event

HELP = "list the jobs, the last one worked on at the end"
EXAMPLE = """\
example:
  fieldvoice jobs
  fieldvoice jobs --json
"""


def add_parser(commands: Any) -> None:
    """Add the command to argparse's `commands`."""
    parser = commands.add_parser(
        "jobs", help=HELP, description=HELP, epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    parser.add_argument("--json", action="store_true", help="one JSON object a line")


def run(args: argparse.Namespace) -> int:
    """Print a line for each job; one that cannot be read is told on stderr."""
    from fieldvoice.devices.joblog import JobLogError, jobs_folder, list_jobs, read_log

    folders = list_jobs()
    if not folders:
        print(f"fieldvoice: no jobs in {jobs_folder()} yet", file=sys.stderr)
    for folder in folders:
        try:
            told = _told(folder, read_log(folder))
        except JobLogError as error:
            print(f"fieldvoice: {error}", file=sys.stderr)
            continue
        if args.json:
            print(json.dumps(told))
        else:
            print("{job:24} {started:17} {procedure:24} {state}".format(**told))
    return OK


def _told(folder: Path, found: LogRead) -> dict[str, Any]:
    from fieldvoice.jobstate.events import JobStarted
    from fieldvoice.jobstate.job import unit_of

    told: dict[str, Any] = {
        "job": folder.name, "folder": str(folder), "procedure": "", "started": "",
        "state": "not begun", "events": len(found.entries),
    }  # fmt: skip
    states: dict[str, str] = {}
    for entry in found.entries:
        if isinstance(entry.event, JobStarted) and not told["started"]:
            told["procedure"] = entry.event.procedure
            told["started"] = entry.at.isoformat(" ", "minutes")[:16]
        if (state := _state(entry.event)) is not None:
            states[unit_of(entry)] = state
    if len(states) > 1:
        told["units"] = states
    told["state"] = _in_words(states) or told["state"]
    return told


def _state(event: Event) -> str | None:
    """How its unit stands after an event; None: as before."""
    from fieldvoice.jobstate.events import JobFinished, StepOpened

    if isinstance(event, StepOpened):
        return f"open at {event.step}"
    return f"finished: {event.ending}" if isinstance(event, JobFinished) else None


def _in_words(states: Mapping[str, str]) -> str:
    """Of one unit as it is, of several with their names."""
    if len(states) < 2:
        return "".join(states.values())
    return "; ".join(f"{unit} {state}" for unit, state in states.items())
