"""`fieldvoice jobs`: the jobs on this computer, and how each stands."""

from __future__ import annotations

import argparse
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldvoice.commands.rim.telling import tell, tell_json, tell_trouble
from fieldvoice.commands.wiring.errors import OK

if TYPE_CHECKING:
    from fieldvoice.review.job_standing import JobStanding, UnitStanding

HELP = "list the jobs and how each stands, the last one worked on at the end"
EXAMPLE = """\
A job is not begun, at work (open in a Fieldvoice now), paused (open, nobody works on it), standing
by, finished, or damaged (its log was changed or cut short). Practice and replays in simulated time
are named as such.

example:
  fieldvoice jobs
  fieldvoice jobs --only open
  fieldvoice jobs --json
"""
ONLY = ("open", "finished", "real", "simulated", "damaged")
_WORDS = {"at-work": "at work", "standing-by": "standing by", "not-begun": ""}


def add_parser(commands: Any) -> None:
    """Add the command to argparse's `commands`."""
    parser = commands.add_parser(
        "jobs", help=HELP, description=HELP, epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    parser.add_argument(
        "--only", choices=ONLY, help="those open, finished, damaged, real, or in simulated time"
    )
    parser.add_argument("--json", action="store_true", help="one JSON object a line")


def run(args: argparse.Namespace) -> int:
    """Print a line for each job; one that cannot be read stands there as damaged."""
    from fieldvoice.devices.joblog import jobs_folder, list_jobs

    folders = list_jobs()
    if not folders:
        tell_trouble(f"no jobs in {jobs_folder()} yet")
    now = datetime.now().astimezone()
    told_all = (_told(folder, now) for folder in folders)
    found = [told for told in told_all if _wanted(told, args.only)]
    found.sort(key=lambda told: told["last_worked_on"])
    for told in found:
        words = told.pop("words")
        if args.json:
            tell_json(told)
        else:
            when = told["last_worked_on"].replace("T", " ")[:16]
            tell(f"{told['job']:24} {when:17} {told['procedure']:24} {words}")
    return OK


def _told(folder: Path, now: datetime) -> dict[str, Any]:
    """All that is known of a job, as JSON has it; and `words`, as a line for people has it."""
    from fieldvoice.devices.joblog import JobLogError, held_by, read_log
    from fieldvoice.review.job_standing import job_standing

    holder = held_by(folder)
    try:
        read = read_log(folder)
    except JobLogError as error:
        return _unreadable(folder, str(error))
    torn = bool(read.torn) and holder is None  # else its writer is in the middle of a line
    damage = list(read.notices if torn else read.broken)
    found = job_standing(read.entries, now)
    standing = "damaged" if damage else "at-work" if holder else found.standing
    return _fields(folder, found, standing, now) | {
        "events": len(read.entries), "damage": damage, "process": holder,
        "words": _words(found, standing, holder, now),
    }  # fmt: skip


def _fields(folder: Path, found: JobStanding, standing: str, now: datetime) -> dict[str, Any]:
    last = found.last_at or datetime.fromtimestamp(folder.stat().st_mtime).astimezone()
    last = last.astimezone(now.tzinfo)
    told: dict[str, Any] = {
        "job": folder.name, "folder": str(folder), "procedure": found.procedure,
        "started": found.started.isoformat(" ", "minutes")[:16] if found.started else "",
        "last_worked_on": last.isoformat(),
        "ago_s": round((now - last).total_seconds()),
        "standing": standing, "state": found.state, "mode": found.mode,
    }  # fmt: skip
    if len(found.units) > 1:
        told["units"] = {name: unit.state for name, unit in found.units.items()}
    told["open"] = {name: _open(unit) for name, unit in found.units.items() if unit.step}
    return told


def _open(unit: UnitStanding) -> dict[str, Any]:
    return {
        "step": unit.step, "since": unit.since.isoformat(timespec="seconds") if unit.since else "",
        "question": unit.asks,
        "timers": [{"label": t.label, "due": t.due.isoformat(timespec="seconds"),
                    "left_s": t.left_s} for t in unit.timers],
    }  # fmt: skip


def _words(found: JobStanding, standing: str, holder: str | None, now: datetime) -> str:
    from fieldvoice.jobstate.events import SIMULATED, WORK
    from fieldvoice.review.job_standing import ago_words, in_words

    mode = "" if found.mode == WORK else found.mode.upper()
    where = f"at work in process {holder}" if standing == "at-work" else _WORDS.get(
        standing, "" if standing == "finished" else standing)
    last = "" if found.last_at is None or standing == "at-work" or found.mode in SIMULATED else \
        f"last worked on {ago_words(found.last_at, now)}"
    return ", ".join(part for part in (mode, where, in_words(found, now), last) if part)


def _unreadable(folder: Path, why: str) -> dict[str, Any]:
    changed = datetime.fromtimestamp(folder.stat().st_mtime).astimezone()
    return {
        "job": folder.name, "folder": str(folder), "procedure": "", "started": "",
        "last_worked_on": changed.isoformat(timespec="seconds"), "standing": "damaged",
        "state": "damaged", "mode": "", "events": 0, "damage": [why], "process": None,
        "words": f"damaged: {why}",
    }  # fmt: skip


def _wanted(told: dict[str, Any], only: str | None) -> bool:
    standing, mode = told["standing"], told["mode"]
    fits: dict[str | None, bool] = {
        None: True, "open": standing in ("at-work", "paused", "standing-by"),
        "finished": standing == "finished", "damaged": standing == "damaged",
        "real": mode in ("work", "recording"), "simulated": mode in ("practice", "replay"),
    }  # fmt: skip
    return fits[only]
