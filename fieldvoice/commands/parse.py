"""`fieldvoice parse`: what a line of text means."""

from __future__ import annotations

import argparse
from typing import Any

from fieldvoice.commands.rim.streams import readable
from fieldvoice.commands.rim.telling import tell, tell_json
from fieldvoice.commands.wiring.errors import OK, CommandError

HELP = "say what a line of text would be understood as"
EXAMPLE = """\
example:
  fieldvoice parse "vacuum four hundred and twelve microns"
  fieldvoice parse "1.2 torr" --json
"""


def add_parser(commands: Any) -> None:
    """Add the command to argparse's `commands`."""
    parser = commands.add_parser(
        "parse", help=HELP, description=HELP, epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    parser.add_argument("text", metavar="TEXT", nargs="+", help="the line, in quotes or not")
    parser.add_argument("--json", action="store_true", help="one JSON object")
    parser.add_argument(
        "--expect", metavar="QUANTITY", help="the quantity that a step would wait for, like vacuum"
    )


def run(args: argparse.Namespace) -> int:
    """Print the meaning; a line that is not understood is an answer too, not a failure."""
    from fieldvoice.commands.wiring.intent_fields import describe, fields
    from fieldvoice.commands.wiring.keeping.warm_up import take_kept
    from fieldvoice.language.parser import understand

    _check_quantity(args.expect)
    take_kept()
    intent = understand(readable(" ".join(args.text)))
    if args.json:
        tell_json(fields(intent, args.expect))
    else:
        tell(describe(intent, args.expect))
    return OK


def _check_quantity(name: str | None) -> None:
    from fieldvoice.quantity.quantities import quantities

    if name is not None and name not in quantities():
        raise CommandError(
            f"--expect {name}: no such quantity; give one of {', '.join(quantities())}"
        )
