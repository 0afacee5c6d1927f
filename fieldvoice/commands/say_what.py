"""`fieldvoice say-what`: what can be said, by examples that the grammar understands."""

from __future__ import annotations

import argparse
import json
from typing import Any

from .errors import OK

HELP = "list what can be said, with examples"
EXAMPLE = """\
example:
  fieldvoice say-what
  fieldvoice say-what --json
"""

SAYINGS: dict[str, tuple[str, ...]] = {  # heading -> lines; a test parses every one
    "Readings": (
        "four hundred twelve microns",
        "vacuum four twelve",
        "log suction pressure one eighteen",
        "suction temperature fifty two point five degrees",
        "line length thirty five feet",
        "two and a half thousand microns",
    ),
    "Steps": (
        "next", "back", "repeat", "what now", "where are we", "why", "skip", "not applicable",
        "understood",
    ),
    "Holds and timers": (
        "start the hold", "start a ten minute hold", "start a timer for half an hour",
        "how long left", "add two minutes", "stop the timer",
    ),
    "Putting it right": (
        "scratch that", "correction four eighty", "change the last suction pressure to one twenty",
        "yes", "no",
    ),
    "Notes": ("take a note", "end note"),
    "Questions": (
        "last vacuum", "verdict", "how long to five hundred", "target superheat", "superheat",
        "subcooling", "charge for this line set", "boiling point of water", "help",
    ),
    "Attention and voice": ("stand by", "back to work", "louder", "slower", "quiet"),
    "Typed only": ("412 um", "1.2 torr", "29.9 inHg", "-5 psig", "note: valve was stiff"),
}  # fmt: skip


def add_parser(commands: Any) -> None:
    """Add the command to argparse's `commands`."""
    parser = commands.add_parser(
        "say-what", help=HELP, description=HELP, epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    parser.add_argument("--json", action="store_true", help="one JSON object a line")


def run(args: argparse.Namespace) -> int:
    """Print each example with what it is understood as."""
    from fieldvoice.spoken.parser import understand

    from .meaning import describe, fields

    for heading, lines in SAYINGS.items():
        if not args.json:
            print(f"\n{heading}")
        for line in lines:
            intent = understand(line, typed=heading == "Typed only")
            if args.json:
                print(json.dumps({"heading": heading, "words": line, **fields(intent)}))
            else:
                print(f"  {line:50} {describe(intent)}")
    return OK
