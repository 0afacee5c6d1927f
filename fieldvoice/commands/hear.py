"""`fieldvoice hear`: sound files to words and their meaning."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldvoice.commands.wiring.errors import BAD_INPUT, OK
from fieldvoice.commands.wiring.models import add_model_option, load_recognizer

if TYPE_CHECKING:
    from fieldvoice.devices.recognizer import Utterance

HELP = "say what is heard in sound files, how surely, and what it means"
EXAMPLE = """\
example:
  fieldvoice hear reading.wav
  fieldvoice hear --json clips/*.flac
"""


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
        "--split", action="store_true", help="a line for each utterance, not for each file"
    )
    add_model_option(parser)


def run(args: argparse.Namespace) -> int:
    """Print a line for each file; a bad file is told on stderr and the others are still heard."""
    from fieldvoice.devices.soundfile import SoundFileError, read_sound

    recognizer = load_recognizer(args.model)
    code = OK
    for path in args.files:
        try:
            pcm = read_sound(path)
        except SoundFileError as error:
            print(f"fieldvoice: {error}", file=sys.stderr)
            code = BAD_INPUT
            continue
        heard = recognizer.hear_lines(pcm) if args.split else [recognizer.hear(pcm)]
        for utterance in heard:
            _print(path, utterance, args.json)
    return code


def _print(path: Path, utterance: Utterance, as_json: bool) -> None:
    from fieldvoice.commands.wiring.intent_fields import describe, fields
    from fieldvoice.session import likeliest

    heard = likeliest([(w.words, w.share) for w in utterance.ways] or [("", 1.0)])
    confidence = heard.confidence if heard.words else 0.0
    if as_json:
        told = {"file": str(path), "words": heard.words, "confidence": confidence}
        print(json.dumps(told | fields(heard.intent), ensure_ascii=False), flush=True)
    else:
        sure = f" ({confidence:.0%} sure)" if heard.words else ""
        words = heard.words or "(no words)"
        print(f"{path}: {words}{sure}\n    {describe(heard.intent)}", flush=True)
