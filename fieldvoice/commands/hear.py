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

example:
  fieldvoice hear reading.wav
  fieldvoice hear --json clips/*.flac
"""
MOST_MEANINGS = 5


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
    from fieldvoice.commands.wiring.heard_line import meanings
    from fieldvoice.commands.wiring.intent_fields import describe

    found = meanings([(w.words, w.share) for w in utterance.ways] or [("", 1.0)])
    if as_json:
        print(json.dumps(_told(path, found), ensure_ascii=False), flush=True)
        return
    heard = found[0]
    sure = f" ({heard.confidence:.0%} sure)" if heard.words else ""
    words = heard.words or "(no words)"
    print(f"{path}: {words}{sure}\n    {describe(heard.intent)}", flush=True)


def _told(path: Path, found: list[Interpretation]) -> dict[str, Any]:
    """Words, confidence and fields of the likeliest meaning; then the decision and all of them."""
    from fieldvoice.commands.wiring.heard_line import decision
    from fieldvoice.commands.wiring.intent_fields import fields

    all_told = [
        {"words": one.words, "confidence": one.confidence if one.words else 0.0}
        | fields(one.intent)
        for one in found
    ]
    meanings = all_told[:MOST_MEANINGS] if found[0].words else []
    return {"file": str(path)} | all_told[0] | {"decision": decision(found[0]),
                                                "meanings": meanings}
