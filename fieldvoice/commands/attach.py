"""`fieldvoice attach`: keep a photo or another file with a job."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from fieldvoice.commands.rim.telling import tell
from fieldvoice.commands.wiring.errors import OK, CommandError

HELP = "keep a photo or another file with a job"
EXAMPLE = """\
The file is copied into the job's folder as it is, with what the camera wrote into it (place and
time too); its hash is logged. The report shows pictures (JPEG, PNG, WebP) smaller and without
that, and lists other files. At work, say photo: see `fieldvoice work --help`, --photos.

examples:
  fieldvoice attach unit-12b gauge.jpg --caption "gauge at the end of the hold"
  fieldvoice attach unit-12b sheet.pdf --unit "unit two" --by "Ann Lee"
"""


def add_parser(commands: Any) -> None:
    """Add the command to argparse's `commands`."""
    parser = commands.add_parser(
        "attach", help=HELP, description=HELP, epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    parser.add_argument("job", metavar="JOB", help="a job's name or folder; see `fieldvoice jobs`")
    parser.add_argument("file", metavar="FILE", type=Path)
    parser.add_argument("--caption", default="", metavar="TEXT", help="what it shows")
    parser.add_argument("--by", default="", metavar="NAME", help="default: the job's technician")
    parser.add_argument("--unit", metavar="NAME", help="of the job; default: its first one")


def run(args: argparse.Namespace) -> int:
    """Copy it, log it, and say where it lies."""
    from fieldvoice.commands.rim.streams import readable
    from fieldvoice.commands.wiring.keeping.added_later import Added, add_to
    from fieldvoice.devices.joblog import job_folder
    from fieldvoice.devices.joblog.attachments import keep_attachment
    from fieldvoice.jobstate.events import Attached
    from fieldvoice.jobstate.job import FIRST, Job
    from fieldvoice.jobstate.unit_names import find

    folder = job_folder(args.job)

    def attached(job: Job) -> Added:
        unit = FIRST if args.unit is None else find(job, args.unit)
        if unit is None:
            raise CommandError(f"job {job.state.job} has no unit called {args.unit!r}; its report "
                               "names them")
        by = args.by or job.states[unit].facts.get("technician", "")
        kept = keep_attachment(folder, args.file)
        return [(unit, Attached(*kept, readable(args.caption), readable(by)))]

    for entry in add_to(folder, attached):
        if isinstance(entry.event, Attached):
            tell(folder / entry.event.file)
    return OK
