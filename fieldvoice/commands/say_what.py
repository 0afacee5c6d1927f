"""`fieldvoice say-what`: what can be said, by examples that the grammar understands."""

from __future__ import annotations

import argparse
from typing import Any

from fieldvoice.commands.rim.telling import tell, tell_json
from fieldvoice.commands.wiring.errors import OK

HELP = "list what can be said, with examples"
EXAMPLE = """\
example:
  fieldvoice say-what
  fieldvoice say-what --json
"""

TYPED = ("412 um", "1.2 torr", "29.9 inHg", "-5 psig", "note: valve was stiff")


def add_parser(commands: Any) -> None:
    """Add the command to argparse's `commands`."""
    parser = commands.add_parser(
        "say-what", help=HELP, description=HELP, epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    parser.add_argument("--json", action="store_true", help="one JSON object a line")


def run(args: argparse.Namespace) -> int:
    """Print each example with what it is understood as."""
    from fieldvoice.commands.wiring.intent_fields import describe, fields
    from fieldvoice.commands.wiring.keeping.warm_up import take_kept
    from fieldvoice.language.parser import understand

    take_kept()
    for heading, lines in sayings().items():
        if not args.json:
            tell(f"\n{heading}")
        for line in lines:
            intent = understand(line, typed=lines is TYPED)
            if args.json:
                tell_json({"heading": heading, "words": line, **fields(intent)})
            else:
                tell(f"  {line:50} {describe(intent)}")
    return OK


def sayings() -> dict[str, tuple[str, ...]]:
    """Heading -> lines: the grammar's own examples, then what only keys can write."""
    from fieldvoice.language.phrase_guide import examples, sections

    spoken = {
        heading.capitalize(): tuple(line for rule in rules for line in examples(rule))
        for heading, rules in sections().items()
    }
    return {**spoken, "Typed only": TYPED}
