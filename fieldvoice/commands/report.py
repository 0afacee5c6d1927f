"""`fieldvoice report`: a job's log as one HTML file, with its readings as CSV beside it."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldvoice.commands.rim.telling import tell, tell_trouble
from fieldvoice.commands.wiring.errors import FAILED, OK, CommandError

if TYPE_CHECKING:
    from fieldvoice.devices.joblog import LogRead
    from fieldvoice.review.logged_job import LoggedUnits
    from fieldvoice.review.page_sound import PageSounds
    from fieldvoice.review.report import Integrity

HELP = "write a job's report (HTML) and its readings (CSV)"
EXAMPLE = """\
The report is one file: the sound of each line is within it, about 3 kB a second, so that it can be
mailed and opened anywhere. Exits with 1 where the log is not as it was written or a sound is
missing; the report is written all the same and says so.

examples:
  fieldvoice report unit-12b
  fieldvoice report ./jobs/unit-12b --into ~/Desktop --for customer --pdf
"""
VERSIONS = ("customer", "office", "inspector")
PAPERS = ("a4", "letter")
SYSTEMS = ("metric", "us")


def add_parser(commands: Any) -> None:
    """Add the command to argparse's `commands`."""
    parser = commands.add_parser(
        "report", help=HELP, description=HELP, epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    parser.add_argument("job", metavar="JOB", help="a job's name or folder; see `fieldvoice jobs`")
    parser.add_argument("--into", type=Path, metavar="DIR", help="default: the job's own folder")
    parser.add_argument("--version", "--for", choices=VERSIONS, dest="version",
                        help="whom it is for; default: the whole record")
    parser.add_argument("--paper", choices=PAPERS, help="what it is printed on")
    parser.add_argument("--units", choices=SYSTEMS,
                        help="shown beside values said in others; default: as the site works")
    sound = parser.add_mutually_exclusive_group()
    sound.add_argument("--link-sound", action="store_true",
                       help="link the sounds where they lie, for a small page that stays there")
    sound.add_argument("--no-sound", action="store_true", help="leave the sounds out")
    parser.add_argument("--json", action="store_true",
                        help="write readings and verdicts as report.json too")
    parser.add_argument("--pdf", action="store_true",
                        help="print it as report.pdf too, by a browser of this computer")


def run(args: argparse.Namespace) -> int:
    """Write the files and print where they lie; 1 where something of the job is not whole."""
    from fieldvoice.commands.rim.print_page import find_browser
    from fieldvoice.devices.joblog import job_folder, read_log

    browser = find_browser() if args.pdf else ""
    folder = job_folder(args.job)
    found = read_log(folder)
    for notice in found.notices:
        tell_trouble(notice)
    if not found.entries:
        raise CommandError(f"{folder} holds no events yet; work on the job first")
    made = Made(found, folder, args.into or folder, _mode(args))
    for path in made.write(_asked(args), as_json=args.json, browser=browser):
        tell(path)
    for fault in made.missing:
        tell_trouble(fault)
    return OK if made.whole else FAILED


def _mode(args: argparse.Namespace) -> str:
    from fieldvoice.review.page_sound import EMBEDDED, LEFT_OUT, LINKED

    return LINKED if args.link_sound else LEFT_OUT if args.no_sound else EMBEDDED


def _asked(args: argparse.Namespace) -> dict[str, Any]:
    """What was chosen of the page; the rest is as report_html has it."""
    given = {"version": args.version, "paper": args.paper, "units": args.units}
    return {name: value for name, value in given.items() if value is not None}


def write_report(found: LogRead, folder: Path, into: Path) -> list[Path]:
    """Write report.html, with the sounds in it, and readings.csv; returns their paths.

    Raises CommandError or JobLogError.
    """
    from fieldvoice.review.page_sound import EMBEDDED

    return Made(found, folder, into, EMBEDDED).write({})


class Made:
    """A job's report and what goes with it, for one folder."""

    def __init__(self, found: LogRead, folder: Path, into: Path, sound: str) -> None:
        """`sound`: a mode of review/page_sound.py. Raises JobLogError."""
        from fieldvoice.commands.wiring.keeping.integrity import integrity
        from fieldvoice.devices.joblog import read_procedures, verify
        from fieldvoice.review.logged_job import read_units
        from fieldvoice.review.page_sound import PageSounds
        from fieldvoice.review.report.attached import attached

        self.folder, self.into = folder, into
        kept = read_procedures(folder)
        self.job: LoggedUnits = read_units(found.entries, kept)
        self.integrity: Integrity = integrity(verify(folder))
        # written elsewhere, linked sounds are found by the job folder's whole path
        here = into.resolve() == folder.resolve()
        self.clips_at = "" if here else f"{folder.resolve().as_uri()}/"
        self.sounds: PageSounds = PageSounds(folder, found.entries, sound, self.clips_at)
        states = {name: unit.state for name, unit in self.job.units.items()}
        self.photos = attached(folder, states, lambda at: f"{at:%d %b %H:%M}")
        self.missing = [*self.sounds.faults(), *(
            f"the file {one.name} is {one.trouble}" for one in self.photos if one.trouble)]

    @property
    def whole(self) -> bool:
        """Nothing of the job is missing or altered, as far as that can be seen."""
        return self.integrity.intact and not self.missing

    def write(
        self, asked: dict[str, Any], *, as_json: bool = False, browser: str = ""
    ) -> list[Path]:
        """Write each file whole or not at all; returns their paths. Raises CommandError.

        `asked`: of the page, for report_html; `browser`: prints it too.
        """
        from fieldvoice.commands.rim.print_page import pdf_of
        from fieldvoice.review.readings_csv import units_csv

        page = self.page(asked)
        states = {name: unit.state for name, unit in self.job.units.items()}
        files = {"report.html": page.encode(), "readings.csv": units_csv(states).encode()}
        if as_json:
            files["report.json"] = self._json().encode()
        if browser:
            files["report.pdf"] = pdf_of(page, browser)
        return [self._write(name, data) for name, data in files.items()]

    def page(self, asked: dict[str, Any]) -> str:
        """The report itself."""
        from fieldvoice.review.report import report_html

        return report_html(self.job, clips_at=self.clips_at, integrity=self.integrity,
                           sounds=self.sounds, photos=self.photos, **asked)

    def _json(self) -> str:
        from fieldvoice.review.report_json import report_json

        told = {"intact": self.integrity.intact, "statement": self.integrity.statement,
                "missing": self.missing}
        return report_json(self.job, told)

    def _write(self, name: str, data: bytes) -> Path:
        from fieldvoice.devices.whole_file import write_whole

        try:
            self.into.mkdir(parents=True, exist_ok=True)
            write_whole(self.into / name, data)
        except OSError as error:
            raise CommandError(
                f"cannot write in {self.into}: {error.strerror}; name another --into") from None
        return self.into / name
