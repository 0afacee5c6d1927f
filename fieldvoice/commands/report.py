"""`fieldvoice report`: a job's log as one HTML file, with its readings as CSV beside it."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .errors import OK, CommandError

if TYPE_CHECKING:
    from fieldvoice.job.events import Entry

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
    from fieldvoice.devices.joblog import job_folder, read_log, read_procedure

    folder = job_folder(args.job)
    found = read_log(folder)
    for notice in found.notices:
        print(f"fieldvoice: {notice}", file=sys.stderr)
    if not found.entries:
        raise CommandError(f"{folder} holds no events yet; work on the job first")
    for path in write_report(found.entries, read_procedure(folder), args.into or folder):
        print(path)
    return OK


def write_report(entries: Sequence[Entry], procedure_text: str, into: Path) -> list[Path]:
    """Write report.html and readings.csv; returns their paths. Raises CommandError."""
    from fieldvoice.review.readings_csv import readings_csv
    from fieldvoice.review.report import report_html

    texts = {
        into / "report.html": report_html(entries, procedure_text),
        into / "readings.csv": readings_csv(entries),
    }
    try:
        into.mkdir(parents=True, exist_ok=True)
        for path, text in texts.items():
            path.write_text(text, encoding="utf-8", newline="")
    except OSError as error:
        raise CommandError(
            f"cannot write in {into}: {error.strerror}; name another --into"
        ) from None
    return list(texts)
