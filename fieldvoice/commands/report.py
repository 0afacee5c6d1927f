"""`fieldvoice report`: a job's log as one HTML file, with its readings as CSV beside it."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldvoice.commands.rim.telling import tell, tell_trouble
from fieldvoice.commands.wiring.errors import FAILED, OK, CommandError

if TYPE_CHECKING:
    from fieldvoice.devices.joblog import LogRead, Verified

HELP = "write a job's report (HTML) and its readings (CSV)"
EXAMPLE = """\
example:
  fieldvoice report unit-12b
  fieldvoice report ./jobs/unit-12b --into ~/Desktop
"""


def add_parser(commands: Any) -> None:
    """Add the command to argparse's `commands`."""
    parser = commands.add_parser(
        "report", help=HELP, description=HELP, epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    parser.add_argument("job", metavar="JOB", help="a job's name or folder; see `fieldvoice jobs`")
    parser.add_argument("--into", type=Path, metavar="DIR", help="default: the job's own folder")


def run(args: argparse.Namespace) -> int:
    """Write both files and print where they lie."""
    from fieldvoice.devices.joblog import job_folder, read_log, verify

    folder = job_folder(args.job)
    found = read_log(folder)
    for notice in found.notices:
        tell_trouble(notice)
    if not found.entries:
        raise CommandError(f"{folder} holds no events yet; work on the job first")
    checked = verify(folder)
    for path in write_report(found, folder, args.into or folder, checked):
        tell(path)
    if not checked.intact:
        tell_trouble(f"{folder.name} is not as it was written; `fieldvoice log verify` says what")
    return OK if checked.intact else FAILED


def write_report(
    found: LogRead, folder: Path, into: Path, checked: Verified | None = None
) -> list[Path]:
    """Write report.html and readings.csv of the job in `folder`; returns their paths.

    `checked`: what was found of the folder; None: it is checked now.

    Written elsewhere than in the job's folder, the report finds the clips by that folder's whole
    path. Raises CommandError or JobLogError.
    """
    from fieldvoice.commands.wiring.keeping.integrity import integrity
    from fieldvoice.devices.joblog import read_procedures, verify
    from fieldvoice.review.logged_job import read_units
    from fieldvoice.review.readings_csv import units_csv
    from fieldvoice.review.report import report_html

    kept = read_procedures(folder)
    clips_at = "" if into.resolve() == folder.resolve() else f"{folder.resolve().as_uri()}/"
    job = read_units(found.entries, kept)
    page = report_html(job, clips_at=clips_at, integrity=integrity(checked or verify(folder)))
    readings = units_csv({name: unit.state for name, unit in job.units.items()})
    texts = {into / "report.html": page, into / "readings.csv": readings}
    try:
        into.mkdir(parents=True, exist_ok=True)
        for path, text in texts.items():
            path.write_text(text, encoding="utf-8", newline="")
    except OSError as error:
        raise CommandError(
            f"cannot write in {into}: {error.strerror}; name another --into"
        ) from None
    return list(texts)
