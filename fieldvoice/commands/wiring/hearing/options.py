"""Options of the command line that say how a job is listened to, and who speaks."""

from __future__ import annotations

import argparse
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from fieldvoice.commands.wiring.errors import CommandError

if TYPE_CHECKING:
    from fieldvoice.commands.wiring.hearing.wanted import Hearing

VOICES = ("espeak", "pico")


def add_voice_option(parser: argparse.ArgumentParser) -> None:
    """Add --voice."""
    parser.add_argument(
        "--voice", metavar="NAME", choices=VOICES,
        help=f"who speaks: {' or '.join(VOICES)}; the second takes `pip install fieldvoice[voice]`",
    )  # fmt: skip


def add_hearing_options(parser: argparse.ArgumentParser) -> None:
    """Add --microphone and --push-to-talk."""
    parser.add_argument(
        "--microphone", metavar="NAME",
        help="part of the microphone's name; or a sound file, a pipe of raw 16 kHz mono 16-bit "
        "sound, or - for such on standard input, heard at the pace of real time",
    )  # fmt: skip
    parser.add_argument(
        "--push-to-talk", action="store_true",
        help="hear only while the talk key is on; each press turns it on or off",
    )


def hearing(args: argparse.Namespace) -> Hearing:
    """What the options ask for. Raises CommandError, or SoundFileError for a bad file."""
    from fieldvoice.commands.wiring.hearing.wanted import Hearing

    wanted: str | None = args.microphone
    if (args.typed or args.practice) and (wanted is not None or args.push_to_talk):
        mode = "--typed" if args.typed else "--practice"
        raise CommandError(f"with {mode} nothing is listened to: leave out --microphone and "
                           "--push-to-talk")  # fmt: skip
    if wanted is None:
        return Hearing(args.model, None, args.push_to_talk)
    from fieldvoice.devices.ears.played import is_pipe, is_played
    from fieldvoice.devices.soundfile import read_sound

    read = cache(read_sound)
    if not wanted.strip():
        raise CommandError("--microphone needs a name; fieldvoice doctor lists them")
    if is_played(wanted) and not is_pipe(wanted):
        read(Path(wanted))  # a bad file is refused before a job is begun
    return Hearing(args.model, wanted, args.push_to_talk, read)
