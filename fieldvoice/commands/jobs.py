"""`fieldvoice jobs`: the jobs on this computer, and how each stands."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldvoice.commands.rim.telling import tell, tell_json, tell_trouble
from fieldvoice.commands.wiring.errors import OK

if TYPE_CHECKING:
    from fieldvoice.jobstate.events import Entry
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
  fieldvoice jobs roof "ann lee" --since 2026-03-01 --verdict leaking
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
    parser.add_argument("words", nargs="*", metavar="WORD",
                        help="those with all these words in job, place, customer, technician or "
                             "procedure")
    parser.add_argument("--verdict", metavar="WORD", help="those with that verdict: leaking")
    parser.add_argument("--since", type=_day, metavar="DAY",
                        help="those worked on from that day on: 2026-03-02")
    parser.add_argument("--until", type=_day, metavar="DAY",
                        help="those begun up to that day and with it")
    parser.add_argument("--json", action="store_true", help="one JSON object a line")


def run(args: argparse.Namespace) -> int:
    """Print a line for each job; one that cannot be read stands there as damaged."""
    from fieldvoice.devices.joblog import jobs_folder, list_jobs

    folders = list_jobs()
    if not folders:
        tell_trouble(f"no jobs in {jobs_folder()} yet")
    now = datetime.now().astimezone()
    told_all = (_told_somehow(folder, now) for folder in folders)
    found = [told for told in told_all if _wanted(told, args.only) and _searched(told, args)]
    found.sort(key=lambda told: told["last_worked_on"])
    for told in found:
        words = told.pop("words")
        told.pop("began")
        if args.json:
            tell_json(told)
        else:
            when = told["last_worked_on"].replace("T", " ")[:16]
            tell(f"{told['job']:24} {when:17} {told['procedure']:24} {words}")
    return OK


def _told_somehow(folder: Path, now: datetime) -> dict[str, Any]:
    """What is known of a job; whatever is wrong with one, the others are listed."""
    from fieldvoice.devices.joblog.lines import UNREADABLE
    from fieldvoice.errors import FieldvoiceError

    try:
        return _told(folder, now)
    except (OSError, FieldvoiceError, *UNREADABLE) as error:
        return _unreadable(folder, f"{type(error).__name__}: {error}")


def _told(folder: Path, now: datetime) -> dict[str, Any]:
    """All that is known of a job, as JSON has it; and `words`, as a line for people has it."""
    from fieldvoice.devices.joblog import JobLogError, held_by, opening_faults, read_log, skim
    from fieldvoice.jobstate.events import last_worked_on
    from fieldvoice.review.job_facts import SAYS_NOTHING

    holder = held_by(folder)
    skimmed = skim(folder, SAYS_NOTHING)
    if skimmed is not None:
        return _standing(folder, skimmed.entries, skimmed.lines, skimmed.last_at, [], holder, now)
    try:
        read = read_log(folder)
    except JobLogError as error:
        return _unreadable(folder, str(error))
    torn = bool(read.torn) and holder is None  # else its writer is in the middle of a line
    damage = list(read.notices if torn else read.broken)
    if holder is None:  # else a seal may be newer than what was read
        damage += map(str, opening_faults(folder, read))
    if damage and not read.entries:
        return _unreadable(folder, damage[0])
    last_at = last_worked_on(read.entries)
    return _standing(folder, read.entries, len(read.entries), last_at, damage, holder, now)


def _standing(
    folder: Path, entries: Sequence[Entry], lines: int, last_at: datetime | None,
    damage: list[str], holder: str | None, now: datetime,
) -> dict[str, Any]:
    from fieldvoice.review.job_facts import told_facts, verdicts
    from fieldvoice.review.job_standing import job_standing

    found = job_standing(entries, now, last_at)
    standing = "damaged" if damage else "at-work" if holder else found.standing
    return _fields(folder, found, standing, now) | told_facts(entries) | {
        "verdicts": verdicts(entries), "events": lines, "damage": damage, "process": holder,
        "began": found.started, "words": _words(found, standing, holder, now),
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
    try:
        changed = datetime.fromtimestamp(folder.stat().st_mtime).astimezone()
    except (OSError, ValueError, OverflowError):  # it has just gone
        changed = datetime.now().astimezone()
    return {
        "job": folder.name, "folder": str(folder), "procedure": "", "started": "",
        "last_worked_on": changed.isoformat(timespec="seconds"), "standing": "damaged",
        "state": "damaged", "mode": "", "verdicts": [], "began": None, "events": 0,
        "damage": [why], "process": None,
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


def _searched(told: dict[str, Any], args: argparse.Namespace) -> bool:
    """Whether a job has the words, the verdict and the days that are asked for."""
    names = ("job", "procedure", "place", "address", "customer", "technician")
    text = " ".join(_plain(told.get(name, "")) for name in names)
    if not all(_plain(word) in text for word in args.words):
        return False
    if args.verdict and not any(_plain(args.verdict) in _plain(v) for v in told["verdicts"]):
        return False
    if args.since and told["last_worked_on"][:10] < args.since.isoformat():
        return False
    began = told["began"]
    return not args.until or (began is not None and began.astimezone().date() <= args.until)


def _plain(text: str) -> str:
    return text.casefold().replace("-", " ")


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"{text!r} is no day; write it like 2026-03-02") from None
