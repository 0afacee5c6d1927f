"""`fieldvoice demo`: recorded jobs heard from end to end, against a simulated clock."""

from __future__ import annotations

import argparse
import itertools
import time
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldvoice.commands.rim.telling import tell, tell_trouble
from fieldvoice.commands.wiring.errors import FAILED, OK
from fieldvoice.commands.wiring.models import add_model_option, load_recognizer
from fieldvoice.commands.wiring.voices.used import add_voice_of_option, asked_for
from fieldvoice.quantity.counted import counted

if TYPE_CHECKING:
    from fieldvoice.commands.wiring.replay_score import Score
    from fieldvoice.devices.mouth import Speaker

HELP = "hear recorded jobs from end to end: sound in, log and report out"
EXAMPLE = """\
example:
  fieldvoice demo
  fieldvoice demo --no-sound --into ./out

The clock is simulated, so that a ten-minute hold takes no time. The recordings are decoded anew by
the speech model each time; nothing of what you see is stored.
"""


def add_parser(commands: Any) -> None:
    """Add the command to argparse's `commands`."""
    parser = commands.add_parser(
        "demo", help=HELP, description=HELP, epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    parser.add_argument(
        "--into",
        type=Path,
        metavar="DIR",
        help="where the jobs' folders go; default: the data folder",
    )
    parser.add_argument("--no-sound", action="store_true", help="do not speak the replies")
    parser.add_argument(
        "--recordings", type=Path, metavar="FOLDER", action="append",
        help="a recorded job of your own, instead of those that come along; may be given again",
    )  # fmt: skip
    add_model_option(parser)
    add_voice_of_option(parser)


def run(args: argparse.Namespace) -> int:
    """Play every job; 1 when a line was taken for another one unasked."""
    from fieldvoice.commands.wiring.keeping.warm_up import prepare_units, warm_up
    from fieldvoice.commands.wiring.recorded_jobs import read_job, shipped_jobs
    from fieldvoice.commands.wiring.replay import Replay
    from fieldvoice.devices.joblog import jobs_folder

    args.model, voice = asked_for(args)
    warm_up()
    prepare_units()
    jobs = [read_job(folder) for folder in args.recordings or shipped_jobs()]
    into = args.into or jobs_folder().parent / "demo"
    recognizer = load_recognizer(args.model)
    speaker = None if args.no_sound else _speaker()
    started = time.perf_counter()
    scores = [
        Replay(job, _free(into / job.name), recognizer, speaker, voice).play() for job in jobs
    ]
    if speaker:
        speaker.close()
    return _sum_up(scores, time.perf_counter() - started)


def _speaker() -> Speaker | None:
    from fieldvoice.devices.mouth import Speaker, has_loudspeaker

    if not has_loudspeaker():
        tell_trouble("no loudspeaker found; the replies are shown only")
        return None
    return Speaker(tell_trouble)


def _free(folder: Path) -> Path:
    """The folder, or one beside it with a number when an earlier demo lies there."""
    from fieldvoice.devices.free_name import first_free

    numbered = (f"{folder.name}-{n}" for n in itertools.count(2))  # no pattern: it may hold braces
    return first_free(folder.parent, itertools.chain([folder.name], numbered))


def _sum_up(scores: list[Score], seconds: float) -> int:
    total: Counter[str] = sum((score.counts for score in scores), Counter())
    sound_s = sum(score.sound_s for score in scores)
    decoding_s = sum(score.decoding_s for score in scores)
    tell(
        f"\n{counted(len(scores), 'job')}, {counted(total.total(), 'line')}: "
        f"{total['right']} right, {total['asked back']} asked back, "
        f"{total['said again']} said again, {total['not taken']} not taken, "
        f"{total['wrong']} wrong.\n"
        f"{sound_s:.0f} s of sound decoded in {decoding_s:.1f} s of processor time; "
        f"{seconds:.1f} s in all."
    )
    return FAILED if total["wrong"] else OK
