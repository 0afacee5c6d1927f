"""`fieldvoice work`: work through a procedure, by voice where there is a microphone, and keys."""

from __future__ import annotations

import argparse
import queue
import sys
from contextlib import ExitStack
from dataclasses import replace
from datetime import datetime
from functools import partial
from pathlib import Path
from shlex import quote
from typing import TYPE_CHECKING, Any

from fieldvoice.commands.rim.streams import let_go
from fieldvoice.commands.rim.telling import tell, tell_trouble
from fieldvoice.commands.wiring.errors import FAILED, INTERRUPTED, OK
from fieldvoice.commands.wiring.hearing.options import (
    add_hearing_options,
    add_voice_option,
    hearing,
)
from fieldvoice.commands.wiring.hearing.ready_ear import ReadyEar
from fieldvoice.commands.wiring.models import add_model_option, load_ear
from fieldvoice.commands.wiring.voices.used import add_voice_of_option, asked_for
from fieldvoice.jobstate.depths import DEPTHS

if TYPE_CHECKING:
    from fieldvoice.commands.wiring.job_output import JobOutput
    from fieldvoice.commands.wiring.listening import Arrivals
    from fieldvoice.commands.wiring.live_job import LiveJob
    from fieldvoice.devices.mouth import Speaker

HELP = "do a job step by step, by voice or keys, and log it; a job that exists is gone on with"
EXAMPLE = """\
examples:
  fieldvoice work evacuate-and-release --job unit-12b
  fieldvoice work mine.procedure --typed --site 'altitude=5280 ft'
  fieldvoice work evacuate-and-release --facts        (what --site can tell)
  printf 'understood\\nvacuum 412 microns\\n' | fieldvoice work evacuate-and-release --job try
  fieldvoice work evacuate-and-release --practice     (then type +10min to let ten minutes pass)

for scripts: --json writes every event once it is logged, then the replies, a line each, at once:
  $ echo 'what now' | fieldvoice work evacuate-and-release --job try --typed --json
  ...
  {"v": 2, "seq": 14, "utc": "2026-03-02T14:14:05.120000Z", "offset": "-05:00", "kind": ...}
  ...
  {"reply": "Say next when it is done.", "tone": "answer", "spoken": "Say next when it is done."}
An event is its line of log.jsonl without what chains the lines, as described in
fieldvoice/review/joblog.schema.json; what was logged earlier stands there. The tone of a reply is
answer, question, prompt, caution or alert; it was logged as a "said" event before. Lines are read
from standard input until its end; notices and closing words go to standard error.
"""


def add_parser(commands: Any) -> None:
    """Add the command to argparse's `commands`."""
    parser = commands.add_parser(
        "work", help=HELP, description=HELP, epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    _add_job_options(parser)
    parser.add_argument("--typed", action="store_true", help="keys and screen only")
    parser.add_argument(
        "--lines", action="store_true",
        help="no screen: each announcement is one line, for a screen reader or a plain terminal",
    )  # fmt: skip
    parser.add_argument(
        "--practice", action="store_true", help="typed, with simulated time: +10min lets it pass"
    )
    parser.add_argument(
        "--clips", action=argparse.BooleanOptionalAction, default=None,
        help="whether the sound of each line is kept in the job's folder; a new job keeps it, one "
        "that goes on does as before",
    )  # fmt: skip
    parser.add_argument(
        "--photos", type=Path, metavar="DIR",
        help="the folder where photos arrive: say photo, and the newest new one is kept",
    )  # fmt: skip
    parser.add_argument(
        "--json", action="store_true", help="events and replies as JSON lines, for a program"
    )
    add_voice_option(parser)
    add_model_option(parser)
    add_voice_of_option(parser)
    add_hearing_options(parser)


def _add_job_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "procedure", metavar="PROCEDURE",
        help="a procedure file, or a name from `fieldvoice procedure list`",
    )  # fmt: skip
    parser.add_argument(
        "--job", metavar="NAME", help="name or folder of the job; default: procedure, date and time"
    )
    parser.add_argument(
        "--reopen", metavar="WHY", nargs="?", const="",
        help="open a finished job again, to add to it; what is added is logged as after its end",
    )  # fmt: skip
    parser.add_argument(
        "--mend", action="store_true",
        help="go on with what is left of a damaged log; what was wrong is logged and said",
    )  # fmt: skip
    parser.add_argument(
        "--site", metavar="FACT=VALUE", action="append", default=[],
        help="something known of place and equipment; may be given again, and when a job goes on",
    )  # fmt: skip
    parser.add_argument(
        "--facts", action="store_true", help="list what --site can tell the procedure, and leave"
    )
    parser.add_argument(
        "--depth", choices=DEPTHS,
        help="how much is prompted: each step, or only what is read, held, chosen and confirmed, "
        "or only what is over a limit; a job that goes on keeps its own",
    )  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Work until the job is finished, the lines end, or the user interrupts."""
    if args.facts:
        return _list_facts(args.procedure)
    args.model, voice = asked_for(args)
    how = hearing(args)
    if _listens(args):
        how = replace(how, ear=ReadyEar(partial(load_ear, args.model, how.awaited)))
    from fieldvoice.commands.wiring.keeping.warm_up import prepare_units, warm_up
    from fieldvoice.commands.wiring.open_ears import open_ears  # what follows takes a while to load

    warm_up()
    arrivals: Arrivals = queue.Queue()
    with ExitStack() as stack:
        job, site = _opened(args, stack, arrivals)
        try:
            job.start(site, args.depth, args.clips, voice if _listens(args) else None)
            ears = open_ears(job, how, arrivals, stack)
            prepare_units()
            job.work(arrivals, ears)
            code = OK
        except KeyboardInterrupt:
            code = INTERRUPTED
            if job.speaker:
                job.speaker.hush()
        except BrokenPipeError:  # whoever read it has gone
            tell_trouble("nobody reads on, so the work stops; all that was logged is kept in "
                         f"{job.open_job.folder}")
            let_go()
            return OK
        except OSError as error:  # full, or closed: nothing can be shown
            raise OSError(f"the work stops: its output cannot be written ({error.strerror}); "
                          f"all that was logged is kept in {job.open_job.folder}") from None
    _say_where(job, args)
    return FAILED if job.open_job.log.file.waiting else code


def _list_facts(procedure: str) -> int:
    from fieldvoice.commands.wiring.facts_given import facts_list
    from fieldvoice.commands.wiring.find_procedure import find_text, load_named

    tell(facts_list(load_named(*find_text(procedure))), end="")
    return OK


def _opened(
    args: argparse.Namespace, stack: ExitStack, arrivals: Arrivals
) -> tuple[LiveJob, dict[str, str]]:
    """The job with its clock, output and voice, and the facts it is told.

    Raises CommandError or JobLogError; for a bad fact before there is a folder.
    """
    from fieldvoice.commands.wiring.facts_given import checked_facts
    from fieldvoice.commands.wiring.find_procedure import find_text
    from fieldvoice.commands.wiring.job_output import JsonOutput
    from fieldvoice.commands.wiring.live_job import LiveJob
    from fieldvoice.commands.wiring.screen.screen_output import open_output
    from fieldvoice.commands.wiring.simulated_time import goes_on_at
    from fieldvoice.devices.clock import Clock, SimulatedClock
    from fieldvoice.devices.joblog import job_folder

    procedure = find_text(args.procedure)
    folder = job_folder(args.job or _default_name(args.procedure))
    site = checked_facts(folder, procedure, args.site)
    output: JobOutput
    if args.json:
        output = JsonOutput(sys.stdout, sys.stderr)
    else:
        output = open_output(arrivals, lines=args.lines)
    stack.callback(output.close)
    clock = SimulatedClock(goes_on_at(folder)) if args.practice else Clock()
    job = LiveJob(folder, procedure, clock, output, _voice(args, output), args.reopen, args.mend)
    if args.photos is not None:
        stack.enter_context(job).watch_photos(args.photos)
        return job, site
    return stack.enter_context(job), site


def _voice(args: argparse.Namespace, output: JobOutput) -> Speaker | None:
    """None where nothing is listened to, either."""
    if not _listens(args):
        return None
    from fieldvoice.devices.mouth import Speaker, Voices

    return Speaker(output.notice, voices=Voices(args.voice))


def _listens(args: argparse.Namespace) -> bool:
    return not (args.typed or args.practice) and bool(sys.stdin.isatty() or args.microphone)


def _default_name(procedure: str) -> str:
    return f"{Path(procedure).stem}-{datetime.now():%Y-%m-%d-%H%M%S}"


def _say_where(job: LiveJob, args: argparse.Namespace) -> None:
    folder = job.open_job.folder
    name = args.job or folder.name
    done = job.open_job.session.job.finished
    practice = " --practice" if args.practice else ""  # without it the job would be refused
    again = f"fieldvoice work {quote(args.procedure)} --job {quote(name)}{practice}"
    then = f"fieldvoice report {quote(name)}" if done else again
    file = job.open_job.log.file
    kept = (f"The job is kept in {folder}" if not file.waiting else
            f"The job is in {folder}, but for the lines that "
            f"{'no disk took' if file.rescue is None else f'wait in {file.rescue}'}")
    told = (kept, f"{'Report' if done else 'Go on'} with: {then}")
    tell("\n".join(told), file=sys.stderr if args.json else sys.stdout)
