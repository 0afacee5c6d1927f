"""`fieldvoice review`: jobs looked at, listened to, marked and amended in a browser."""

from __future__ import annotations

import argparse
import signal
import threading
import webbrowser
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldvoice.commands.rim.telling import tell, tell_trouble
from fieldvoice.commands.wiring.errors import OK, CommandError

if TYPE_CHECKING:
    from fieldvoice.desk.transcribing import Hear

HELP = "look at jobs in a browser, listen to lines, mark and amend them"
EXAMPLE = """\
The pages are served on this computer alone, to the browser that opens the address printed; the
key in it changes with every start. Nothing leaves the computer. Ctrl-C ends it.

Lines that were marked, written down or corrected can be taken along as a labelled set: a zip of
lines.jsonl (path, heard, right, verdict, corrected_to, confidence, outcome, source, job, line, utc,
reviewer; its README.txt says what each is) and the sounds, WAV of 16 kHz, under sounds/JOB/. The
list has that of all jobs, each job its own.

example:
  fieldvoice review
  fieldvoice review unit-12b
  fieldvoice review --jobs ./copied-jobs --print-only --port 8123
  fieldvoice review --model-for-notes ./vosk-model-en
"""


def add_parser(commands: Any) -> None:
    """Add the command to argparse's `commands`."""
    parser = commands.add_parser(
        "review", help=HELP, description=HELP, epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    parser.add_argument("job", metavar="JOB", nargs="?",
                        help="a job's name or folder to begin with; else the list of jobs")
    parser.add_argument("--jobs", type=Path, metavar="DIR",
                        help="a folder of jobs; default: where Fieldvoice keeps them")
    parser.add_argument("--port", type=_port, default=0, metavar="N",
                        help="of this computer's own address; default: a free one")
    parser.add_argument("--print-only", action="store_true",
                        help="print the address and open no browser")
    parser.add_argument("--model-for-notes", type=Path, metavar="DIR",
                        help="a larger speech model in Vosk's layout, to write notes down with")


def _port(text: str) -> int:
    number = int(text) if text.isdecimal() else -1
    if not 0 <= number <= 65_535:
        raise argparse.ArgumentTypeError(f"{text!r} is no port; give 1024 to 65535, or 0")
    return number


def run(args: argparse.Namespace) -> int:
    """Serve until Ctrl-C."""
    from fieldvoice.commands.wiring.keeping.log_for_review import log_for_review
    from fieldvoice.desk.app import make_app
    from fieldvoice.desk.door import Door
    from fieldvoice.desk.library import Library
    from fieldvoice.desk.serving import serve
    from fieldvoice.desk.shelf import Shelf
    from fieldvoice.desk.transcribing import Transcriber
    from fieldvoice.desk.writing import Pen
    from fieldvoice.devices.joblog import jobs_folder

    jobs = args.jobs or jobs_folder()
    if args.jobs and not args.jobs.is_dir():
        raise CommandError(f"there is no folder {args.jobs}; give one that holds jobs' folders")
    wanted = _wanted(args.job, jobs)
    shelf = Shelf(jobs, wanted)
    if wanted is not None:
        shelf.folder(wanted.name)  # refused here rather than in the browser
    transcriber = None
    if args.model_for_notes is not None:
        _check_for_notes(args.model_for_notes)
        transcriber = Transcriber(lambda: _load_hearing(args.model_for_notes))
    door = Door()
    library = Library(shelf)
    app = make_app(library, Pen(log_for_review), door, transcriber)

    def ready() -> None:
        now = datetime.now().astimezone()
        threading.Thread(target=library.read_ahead, args=(now,), daemon=True).start()
        address = _address(door.address, wanted)
        tell(f"Review pages, on this computer alone; Ctrl-C ends them:\n{address}")
        if not args.print_only:
            threading.Thread(target=_open_browser, args=(address,), daemon=True).start()

    _end_on_terminate()
    serve(app, door, args.port, ready)
    return OK


def _wanted(job: str | None, jobs: Path) -> Path | None:
    """The folder of the job to begin with; it may lie elsewhere."""
    from fieldvoice.devices.joblog import job_folder

    if job is None:
        return None
    beside = jobs / job
    plain = "/" not in job and "\\" not in job
    return (beside if plain and beside.is_dir() else job_folder(job)).resolve()


def _address(entry: str, wanted: Path | None) -> str:
    from urllib.parse import quote

    return entry if wanted is None else f"{entry}&job={quote(wanted.name, safe='')}"


def _open_browser(address: str) -> None:
    """The system's browser, where there is one; the address is printed anyway."""
    try:
        webbrowser.open(address)
    except webbrowser.Error as error:
        tell_trouble(f"no browser could be opened ({error}); open the address above")


def _end_on_terminate() -> None:
    """A polite request to end is the same as Ctrl-C."""
    def end(*_: object) -> None:
        raise KeyboardInterrupt

    signal.signal(signal.SIGTERM, end)


def _check_for_notes(folder: Path) -> None:
    """Raises ModelError, or CommandError for a model that hears only commands."""
    from fieldvoice.devices.vosk_recognizer import check_model, is_own

    check_model(folder, "--model-for-notes")
    if is_own(folder):
        raise CommandError(f"{folder} hears the words of the job alone, no free speech; give a "
                           "larger model in Vosk's layout")


def _load_hearing(folder: Path) -> Hear:
    """What hears free speech in a file. Raises ModelError."""
    from fieldvoice.devices.soundfile import read_sound
    from fieldvoice.devices.vosk_recognizer import VoskRecognizer

    recognizer = VoskRecognizer(folder)

    def hear(sound: Path) -> str:
        heard = recognizer.hear_lines(read_sound(sound))
        return " ".join(utterance.words for utterance in heard if utterance.words)

    return hear
