"""`fieldvoice hear`: sound files to words and their meaning."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldvoice.commands.rim.progress import Progress, clock_words
from fieldvoice.commands.rim.telling import tell, tell_json, tell_trouble
from fieldvoice.commands.wiring.errors import BAD_INPUT, OK, CommandError
from fieldvoice.commands.wiring.models import add_model_option, load_recognizer
from fieldvoice.commands.wiring.voices.used import add_voice_of_option, asked_for

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from fieldvoice.devices.recognizer import Recognizer, Utterance
    from fieldvoice.dialogue.confidence import Interpretation

HELP = "say what is heard in sound files, how surely, and what it means"
EXAMPLE = """\
With --json each line also carries what a job would decide, while no step waits for anything
(decision), and the likeliest meanings with their confidence (meanings, up to five):
  taken       believed, and from there on treated like a typed line
  asked-back  doubted: not sure enough, an unusual value, or a number that sounds like a range;
              or words that are understood only to be asked about, such as a range
  ignored     too unsure, or mostly words that are none of ours: talk to others
  lost        heard but not understood, or no words were heard

A file of up to 15 s is one line; a longer one is cut at its silences, as on the job, and each line
is told with when it ended (until_s in JSON). Heard are WAV, FLAC, MP3 and Ogg Vorbis of 4,000 to
384,000 samples a second and up to 32 channels, up to an hour and 700 MB; also from a pipe, which is
given up when nothing comes for ten seconds.

With --job a long recording made on site becomes a job: every line is logged at the time at which
it had ended, timers and holds run in the recording's time, and the sound of each line is cut from
it. When it began is given (--began), or read from the file, or reckoned from when the file was last
changed; which of them is told and logged. What a job at work would have asked back is logged as
asked. Ctrl-C keeps what is logged; --go-on goes on from there, or adds a later recording.

example:
  fieldvoice hear reading.wav
  fieldvoice hear --json clips/*.flac
  fieldvoice hear --job unit-12 --procedure evacuate-and-release --began '2026-03-02 09:14' site.wav
"""
MOST_MEANINGS = 5
LONGEST_LINE_S = 15  # a longer file is no single line


def add_parser(commands: Any) -> None:
    """Add the command to argparse's `commands`."""
    parser = commands.add_parser(
        "hear", help=HELP, description=HELP, epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    parser.add_argument(
        "files", metavar="FILE", nargs="+", type=Path, help="WAV or FLAC of any rate and channels"
    )
    parser.add_argument("--json", action="store_true", help="one JSON object a line")
    parser.add_argument(
        "--split", action="store_true",
        help="a line for each utterance, not for each file, also where it is no longer than 15 s",
    )  # fmt: skip
    add_model_option(parser)
    add_voice_of_option(parser)
    _add_job_options(parser)


def _add_job_options(parser: argparse.ArgumentParser) -> None:
    about = parser.add_argument_group("a recording made on site as a job")
    about.add_argument("--job", metavar="NAME", help="log it as this job, a name or a folder")
    about.add_argument(
        "--procedure", metavar="NAME",
        help="a procedure file, or a name from `fieldvoice procedure list`; a new job needs it",
    )  # fmt: skip
    about.add_argument(
        "--began", metavar="TIME",
        help="when the recording began: '2026-03-02 09:14', or 9:14:30 of the file's day",
    )  # fmt: skip
    about.add_argument(
        "--go-on", action="store_true",
        help="hear it into a job that exists, from where its log ends",
    )  # fmt: skip
    about.add_argument(
        "--site", metavar="FACT=VALUE", action="append", default=[],
        help="something known of place and equipment; may be given again",
    )  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Print a line for each file; a bad file is told on stderr and the others are still heard."""
    args.model, voice = asked_for(args)
    if _is_job(args):
        from fieldvoice.commands.wiring.recording.hear_into_job import hear_into_job

        return hear_into_job(args, voice)
    from fieldvoice.devices.soundfile import RATE, SoundFileError, read_sound

    recognizer = load_recognizer(args.model)
    code = OK
    for path in args.files:
        try:
            pcm = read_sound(path)
        except SoundFileError as error:
            tell_trouble(error)
            code = BAD_INPUT
            continue
        if args.split or len(pcm) > LONGEST_LINE_S * RATE:
            _hear_lines(path, pcm, recognizer, args.json, voice.sureness)
        else:
            _tell(path, recognizer.hear(pcm), pcm, args.json, sureness=voice.sureness)
    return code


def _is_job(args: argparse.Namespace) -> bool:
    """Whether it becomes a job. Raises CommandError for options that do not fit together."""
    if args.job is None:
        if args.procedure or args.began or args.go_on or args.site:
            raise CommandError("--procedure, --began, --go-on and --site go with --job NAME")
        return False
    if len(args.files) > 1:
        raise CommandError("a job takes one recording at a time; hear the next with --go-on")
    if args.split:
        raise CommandError("with --job a recording is always cut into lines: leave --split away")
    return True


def _hear_lines(
    path: Path, pcm: NDArray[np.int16], recognizer: Recognizer, as_json: bool,
    sureness: float,
) -> None:
    """A line for each utterance, with the second at which it had ended; one of a silent file."""
    from fieldvoice.devices.recognizer import CHUNK, Utterance
    from fieldvoice.devices.soundfile import RATE

    recognizer.forget()
    heard, begin, progress = 0, 0, Progress(path, len(pcm) / RATE)
    for at in range(0, len(pcm), CHUNK):
        if found := recognizer.feed(pcm[at : at + CHUNK]):
            end = min(at + CHUNK, len(pcm))
            progress.clear()
            sound = pcm[begin:end]
            line = recognizer.weighed(found, sound)
            _tell(path, line, sound, as_json, end / RATE, sureness)
            heard, begin = heard + 1, end
        progress.at(at / RATE)
    progress.clear()
    last = recognizer.finish()
    if last is not None or not heard:
        rest = pcm[begin:]
        line = recognizer.weighed(last or Utterance("", 0.0), rest)
        _tell(path, line, rest, as_json, len(pcm) / RATE, sureness)


def _tell(
    path: Path, utterance: Utterance, sound: NDArray[np.int16], as_json: bool,
    until_s: float | None = None, sureness: float = 0.0,
) -> None:
    from fieldvoice.commands.wiring.heard_line import meanings
    from fieldvoice.commands.wiring.hearing.loudness import clarity
    from fieldvoice.commands.wiring.intent_fields import describe
    from fieldvoice.quantity.shares import percent

    ways = [(w.words, w.share) for w in utterance.ways] or [("", 1.0)]
    found = meanings(ways, clarity(sound, unlike=utterance.unlike), sureness)
    if as_json:
        ended = {} if until_s is None else {"until_s": round(until_s, 2)}
        tell_json({"file": str(path)} | ended | _told(found))
        return
    heard = found[0]
    sure = f" ({percent(heard.confidence)} sure)" if heard.words else ""
    until = "" if until_s is None else f", until {clock_words(until_s)}"
    tell(f"{path}{until}: {heard.words or '(no words)'}{sure}\n    {describe(heard.intent)}")


def _told(found: list[Interpretation]) -> dict[str, Any]:
    """Words, confidence and fields of the likeliest meaning; then the decision and all of them."""
    from fieldvoice.commands.wiring.heard_line import decision
    from fieldvoice.commands.wiring.intent_fields import fields

    all_told = [
        {"words": one.words, "confidence": one.confidence if one.words else 0.0}
        | fields(one.intent)
        for one in found
    ]
    meanings = all_told[:MOST_MEANINGS] if found[0].words else []
    return all_told[0] | {"decision": decision(found[0]), "meanings": meanings}
