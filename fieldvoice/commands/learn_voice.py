"""`fieldvoice learn-voice`: fit the speech model to a technician's own voice."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldvoice.commands.rim.telling import tell, tell_json, tell_trouble
from fieldvoice.commands.wiring.errors import FAILED, INTERRUPTED, OK, CommandError
from fieldvoice.commands.wiring.models import add_model_option

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.commands.wiring.voices.kept import VoicePlace
    from fieldvoice.commands.wiring.voices.learning import Learned
    from fieldvoice.commands.wiring.voices.spoken_lines import SpokenLine
    from fieldvoice.ownvoice.voice_file import Voice

HELP = "learn how a technician speaks, from three minutes of lines, so that he is heard better"
EXAMPLE = """\
You read about seventy lines aloud, three minutes in all, in a quiet place and with the microphone
that you work with; each is kept at once, and a break or Ctrl-C loses nothing: the same command goes
on where it ended. Then the speech model is fitted to the voice, on this computer, in a few minutes.
Each third of the lines is held back once and heard with what the others taught: where they are not
clearly heard better than before, nothing is kept, a voice learned earlier stays as it was, and you
are told the figures.

The recordings stay on this computer, in the folder that is told; nothing is sent anywhere.
--no-keep removes them once the voice is learned, --forget removes them with what was learned.

--from takes a folder of sound files with a list, lines.txt, of what is said in them:
  01.wav vacuum four hundred twelve microns
  02.wav next
--from-job takes the spoken lines of a job whose words are certain: marked right in `fieldvoice
review`, or written down there; asked back and answered with yes; or taken at once, and never
corrected, taken back or amended. Whether it helps is judged by prompted and reviewed lines alone.
All lines must be said by this one person.

example:
  fieldvoice learn-voice dana
  fieldvoice learn-voice dana --from-job unit-12b --from-job unit-13
  fieldvoice work evacuate-and-release --voice-of dana
  fieldvoice learn-voice --list
"""


def add_parser(commands: Any) -> None:
    """Add the command to argparse's `commands`."""
    parser = commands.add_parser(
        "learn-voice", help=HELP, description=HELP, epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    parser.add_argument("name", metavar="NAME", nargs="?", help="whose voice it is")
    parser.add_argument("--from", dest="folders", metavar="FOLDER", type=Path, action="append",
                        default=[], help="learn from these sounds; may be given again")
    parser.add_argument("--from-job", dest="jobs", metavar="NAME", action="append", default=[],
                        help="learn from lines of this job that are certain; may be given again")
    parser.add_argument("--aloud", action="store_true", help="say each line before it is recorded")
    parser.add_argument("--no-keep", action="store_true",
                        help="remove the recordings once the voice is learned")
    parser.add_argument("--list", action="store_true", help="list the voices that are known")
    parser.add_argument("--forget", metavar="NAME",
                        help="remove a voice and all recordings made for it")
    parser.add_argument(
        "--microphone", metavar="NAME",
        help="part of the microphone's name; or a sound file with the lines, in their order",
    )  # fmt: skip
    parser.add_argument("--json", action="store_true", help="JSON, for a program")
    add_model_option(parser)


def run(args: argparse.Namespace) -> int:
    """List, forget, or learn; 1 where what was learned is not kept."""
    from fieldvoice.commands.wiring.voices.kept import place_of

    if args.list:
        return _list(args.json)
    if args.forget is not None:
        return _forget(place_of(args.forget))
    if args.name is None:
        raise CommandError("whose voice is it? fieldvoice learn-voice NAME; --list tells those "
                           "that are known")
    place = place_of(args.name)
    skipped: list[str] = []
    try:
        return _learn(args, place, _gathered(args, place, skipped), skipped)
    except KeyboardInterrupt:
        tell_trouble("interrupted; nothing was learned" + (
            f", and what was recorded is kept in {place.lines}: the same command goes on"
            if place.lines.is_dir() else ""))
        return INTERRUPTED


def _gathered(
    args: argparse.Namespace, place: VoicePlace, skipped: list[str]
) -> list[SpokenLine]:
    """All lines there are of the voice; where none are given, prompted ones."""
    from fieldvoice.commands.wiring.voices.recordings import Recordings
    from fieldvoice.commands.wiring.voices.spoken_lines import from_folder

    recordings = Recordings(place.lines)
    if not args.folders and not args.jobs:
        from fieldvoice.commands.wiring.voices.recording import record_all

        record_all(args, place, recordings)
    lines = recordings.lines(skipped)
    for folder in args.folders:
        lines += from_folder(folder, skipped)
    for job in args.jobs:
        lines += _of_job(job, skipped, tell_trouble if args.json else tell)
    return lines


def _of_job(job: str, skipped: list[str], say: Callable[[str], None]) -> list[SpokenLine]:
    from fieldvoice.commands.wiring.voices.job_lines import from_job
    from fieldvoice.devices.joblog import job_folder

    found, counts = from_job(job_folder(job), skipped)
    sorts = "; ".join(f"{count} {why}" for why, count in counts.items())
    say(f"Lines of job {job}: {sorts or 'none of which the words are certain'}. Their sound stays "
        "where it is, nothing is sent anywhere.")
    return found


def _learn(
    args: argparse.Namespace, place: VoicePlace, lines: list[SpokenLine], skipped: list[str]
) -> int:
    from fieldvoice.commands.rim.progress import Progress
    from fieldvoice.commands.wiring.models import check_own_or
    from fieldvoice.commands.wiring.voices.learning import learn
    from fieldvoice.devices.vosk_recognizer import OWN_MODEL

    check_own_or(args.model)
    progress = Progress(Path("learning"), 100.0, words=lambda share: f"{share:.0f} %")
    try:
        learned = learn(place.name, lines, args.model or OWN_MODEL, skipped,
                        tell_trouble if args.json else tell, lambda x: progress.at(100 * x))
    finally:
        progress.clear()
        for one in skipped:
            tell_trouble(f"left out: {one}")
    if learned.voice is not None:
        place.keep(learned.voice)
    _tell_learned(learned, place, args.json)
    if args.no_keep:
        from fieldvoice.commands.wiring.voices.recordings import Recordings

        Recordings(place.lines).remove()
    return FAILED if learned.why_not else OK


def _tell_learned(learned: Learned, place: VoicePlace, as_json: bool) -> None:
    if as_json:
        tell_json({"name": place.name, "kept": not learned.why_not, "why_not": learned.why_not,
                   "took_s": round(learned.took_s, 1)} | _figures(learned)
                  | ({} if learned.voice is None else _fields(learned.voice)))
        return
    before, after = learned.before, learned.after
    tell(f"Took {learned.took_s:.0f} s. Of {after.lines} hearings of lines held back, half "
         "of them beside noise:")
    tell(f"  {'':22} before   now")
    for words, name in (("word for word right", "exact"), ("rightly understood", "meaning"),
                        ("taken without question", "taken")):
        tell(f"  {words:22} {getattr(before, name):6} {getattr(after, name):5}")
    tell(f"  {'belief in what was said':22}{before.belief:6.0%} {after.belief:5.0%}")
    tell(_kept_words(learned.voice, place) if learned.voice else _refused_words(learned, place))


def _kept_words(voice: Voice, place: VoicePlace) -> str:
    size = place.file.stat().st_size / 1000
    asked = ("" if voice.sureness == 0 else
             f" Lines are asked back {'less' if voice.sureness > 0 else 'more'} readily than "
             "those of others.")
    return f"Kept in {place.file} ({size:.0f} kB).{asked} Use it with --voice-of {place.name}"


def _refused_words(learned: Learned, place: VoicePlace) -> str:
    stays = (f"the voice learned earlier stays as it was, in {place.file}"
             if place.file.is_file() else "you are heard as well without a voice of your own")
    return f"Nothing new is kept: {learned.why_not}; {stays}."


def _list(as_json: bool) -> int:
    from fieldvoice.commands.wiring.voices.kept import all_places, voices_folder
    from fieldvoice.errors import FieldvoiceError

    places = all_places()
    if not places:
        tell_trouble(f"no voices in {voices_folder()} yet")
    for place in places:
        if not place.file.is_file():
            told: dict[str, Any] = {"name": place.name, "learned": None}
            words = "recorded, not learned yet"
        else:
            try:
                voice = place.read()
            except FieldvoiceError as error:
                tell_trouble(error)
                continue
            told = _fields(voice)
            words = (f"learned {voice.made[:10]} from {voice.lines} lines; rightly understood "
                     f"{voice.before.meaning} before, {voice.after.meaning} now, of "
                     f"{voice.after.lines}")
        if as_json:
            tell_json(told | {"folder": place.folder})
        else:
            tell(f"{place.name:20} {words}")
    return OK


def _fields(voice: Voice) -> dict[str, Any]:
    return {"name": voice.name, "learned": voice.made, "model": voice.model, "lines": voice.lines,
            "seconds": voice.seconds, "sureness": voice.sureness} | _figures(voice)


def _figures(found: Voice | Learned) -> dict[str, Any]:
    from dataclasses import asdict

    return {"before": asdict(found.before), "after": asdict(found.after)}


def _forget(place: VoicePlace) -> int:
    from fieldvoice.commands.wiring.voices.used import forget_laid_out

    place.forget()
    forget_laid_out(place.name)
    tell(f"The voice of {place.name} and its recordings are removed.")
    return OK
