"""`fieldvoice log`: check that a job's record is as it was written; the schema of its lines."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldvoice.commands.rim.telling import tell, tell_json
from fieldvoice.commands.wiring.errors import FAILED, OK, CommandError
from fieldvoice.quantity.counted import counted

if TYPE_CHECKING:
    from fieldvoice.devices.joblog import Verified

HELP = "check that a job's record is as it was written, or print the schema of a log's lines"
EXAMPLE = """\
examples:
  fieldvoice log verify unit-12b
  fieldvoice log verify --all
  fieldvoice log schema > joblog.schema.json
"""
_MOST = 20  # faults of a job that are told one by one
_SEALED = {"sealed": "sealed", "unsealed-tail": "sealed, with lines since", "never": "never sealed"}
_SHORT = 12  # letters of the short hash, as reports print it


def add_parser(commands: Any) -> None:
    """Add the command to argparse's `commands`."""
    from fieldvoice.devices.joblog.verifying import WHAT_IS_PROVEN

    how = argparse.RawDescriptionHelpFormatter
    parser = commands.add_parser("log", help=HELP, description=HELP, epilog=EXAMPLE,
                                 formatter_class=how)
    deeds = parser.add_subparsers(dest="deed", metavar="DEED", required=True)
    verify = deeds.add_parser(
        "verify", help="check log, seal, sounds and procedures of jobs; 1 where something is wrong",
        description="Check log, seal, sounds, procedures and attached files of jobs. Nothing is "
        "changed. The exit code is 1 where anything is not as it was written.",
        epilog=WHAT_IS_PROVEN, formatter_class=how)
    verify.add_argument("jobs", metavar="JOB", nargs="*", help="names or folders of jobs")
    verify.add_argument("--all", action="store_true",
                        help="every job of this computer, and those that were sealed and are gone")
    verify.add_argument("--json", action="store_true", help="one JSON object a job")
    deeds.add_parser("schema", help="print the JSON Schema of one line of log.jsonl")


def run(args: argparse.Namespace) -> int:
    """Check, or print; 1 where a job is not as it was written."""
    if args.deed == "schema":
        from fieldvoice.review.schema import log_line_schema

        tell(json.dumps(log_line_schema(), indent=2))
        return OK
    return _verify(args)


def _verify(args: argparse.Namespace) -> int:
    from fieldvoice.devices.joblog import job_folder

    if args.all == bool(args.jobs):
        raise CommandError("name the jobs to check, or give --all; `fieldvoice jobs` lists them")
    folders = [job_folder(job) for job in args.jobs] if args.jobs else _all()
    right = [_told(folder, as_json=args.json) for folder in folders]
    gone = _tell_gone(folders, as_json=args.json) if args.all else False
    return OK if all(right) and not gone else FAILED


def _all() -> list[Path]:
    """Every folder beside the others that holds something of a job, also one without a log."""
    from fieldvoice.devices.joblog import jobs_folder

    try:
        return sorted(path for path in jobs_folder().iterdir() if path.is_dir())
    except FileNotFoundError:
        return []


def _told(folder: Path, *, as_json: bool) -> bool:
    """Tell what was found of a job; whether nothing is wrong."""
    from fieldvoice.devices.joblog import JobLogError, verify, waiting

    try:
        found = verify(folder)
    except JobLogError as error:
        notes = waiting(folder)
        if as_json:
            tell_json({"job": folder.name, "folder": str(folder), "intact": False, "notes": notes,
                       "faults": [{"where": "log.jsonl", "what": str(error), "what_to_do": ""}]})
        else:
            tell("\n".join([f"{folder.name}: cannot be checked: {error}", *_noted(notes)]))
        return False
    if as_json:
        tell_json(_as_json(folder, found))
    else:
        tell("\n".join(_words(folder, found)))
    return found.intact


def _as_json(folder: Path, found: Verified) -> dict[str, Any]:
    return {
        "job": folder.name, "folder": str(folder), "intact": found.intact, "sealed": found.sealed,
        "lines": found.lines, "head": found.head, "notes": list(found.notes),
        "faults": [{"where": fault.where, "what": fault.what, "what_to_do": fault.what_to_do,
                    "line": fault.line, "counts": fault.counts} for fault in found.faults],
    }  # fmt: skip


def _words(folder: Path, found: Verified) -> list[str]:
    if found.intact:
        told = [f"{folder.name}: as it was written: {counted(found.lines, 'line')}, "
                f"{_SEALED[found.sealed]}, short hash {found.head[:_SHORT]}"]
    else:
        told = [f"{folder.name}: NOT as it was written: {counted(len(found.faults), 'fault')}, "
                f"{counted(found.lines, 'line')}"]
    to_do = ""
    for fault in found.faults[:_MOST]:
        told.append(f"  {fault}")
        if fault.what_to_do != to_do:
            to_do = fault.what_to_do
            told.append(f"      What to do: {to_do}")
    if len(found.faults) > _MOST:
        told.append(f"  and {len(found.faults) - _MOST:,} more; --json lists all")
    return [*told, *_noted(found.notes)]


def _noted(notes: Iterable[str]) -> list[str]:
    return [f"  Note: {note}" for note in notes]


def _tell_gone(folders: list[Path], *, as_json: bool) -> bool:
    """Tell which jobs were sealed and are gone, and what is wrong with the register."""
    from fieldvoice.devices.joblog import gone_jobs, register_path, waiting
    from fieldvoice.devices.joblog.sealing import broken_register_lines, register_trouble

    gone = gone_jobs(folders)
    for one in gone:
        notes = waiting(Path(one.seal.folder))
        if as_json:
            tell_json({"job": one.seal.job, "folder": one.seal.folder, "intact": False,
                       "notes": notes, "faults": [{
                           "where": one.seal.folder, "what": str(one),
                           "what_to_do": "bring the folder back from a copy"}]})
        else:
            tell("\n".join([f"{one}\n      What to do: bring the folder back from a copy",
                            *_noted(notes)]))
    broken = broken_register_lines()
    if broken and not as_json:
        tell(f"{register_path()}: {len(broken):,} lines are not as they were written, the first is "
             f"line {broken[0]:,}; jobs that they name may be gone unnoticed")
    trouble = register_trouble()
    if trouble and not as_json:
        tell(f"{register_path()} {trouble}")
    return bool(gone or broken or trouble)
