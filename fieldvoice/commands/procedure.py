"""`fieldvoice procedure`: check a procedure file, show one, list those that come along."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldvoice.commands.rim.telling import tell
from fieldvoice.commands.wiring.errors import BAD_INPUT, OK, CommandError
from fieldvoice.quantity.counted import counted

if TYPE_CHECKING:
    from fieldvoice.procedure.model import Procedure

HELP = "check or show a procedure file"
EXAMPLE = """\
examples:
  fieldvoice procedure list
  fieldvoice procedure show evacuate-and-release
  fieldvoice procedure show evacuate-and-release --text > mine.procedure
  fieldvoice procedure check mine.procedure
  fieldvoice procedure show mine.procedure --drawing mine.svg
"""


def add_parser(commands: Any) -> None:
    """Add the command to argparse's `commands`."""
    parser = commands.add_parser(
        "procedure", help=HELP, description=HELP, epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
    told = {
        "check": "report each fault with line and column",
        "show": "print it as a sheet to read, or draw it",
    }
    for name, about in told.items():
        action = actions.add_parser(name, help=about, description=about)
        action.add_argument("procedure", metavar="PROCEDURE", help="a file, or a listed name")
    form = action.add_mutually_exclusive_group()
    form.add_argument(
        "--sheet", action="store_true",
        help="print numbered steps, limits with sources, and where each step leads (the default)",
    )
    form.add_argument("--text", action="store_true", help="print its text, to edit a copy of it")
    action.add_argument(
        "--drawing", type=Path, metavar="FILE.svg", help="draw the steps and the ways between them"
    )
    actions.add_parser("list", help="name those that come with Fieldvoice")


def run(args: argparse.Namespace) -> int:
    """Check, show or list."""
    if args.action == "list":
        return _list()
    from fieldvoice.commands.wiring.find_procedure import find_text

    text, where = find_text(args.procedure)
    if args.action == "check":
        return _check(text, where)
    if args.drawing:
        _draw(text, where, args.drawing)
    if args.text:
        print(text, end="")  # as it is, to be copied; find_text has looked at it
    elif args.sheet or not args.drawing:
        tell(_sheet(text, where), end="")
    return OK


def _sheet(text: str, where: str) -> str:
    from fieldvoice.commands.wiring.find_procedure import load_named
    from fieldvoice.procedure.sheet import sheet

    return sheet(load_named(text, where))


def _draw(text: str, where: str, into: Path) -> None:
    from fieldvoice.commands.wiring.find_procedure import load_named
    from fieldvoice.procedure.drawing import drawing

    try:
        into.write_text(drawing(load_named(text, where)), encoding="utf-8")
    except OSError as error:
        raise CommandError(f"cannot write {into}: {error.strerror}; name another file") from None


def _list() -> int:
    from fieldvoice.commands.wiring.find_procedure import find_text, load_named
    from fieldvoice.procedure.reader import shipped_names

    for name in shipped_names():
        tell(f"{name:24} {load_named(*find_text(name)).title}")
    return OK


def _check(text: str, where: str) -> int:
    from fieldvoice.commands.wiring.find_procedure import faults
    from fieldvoice.procedure.stage_check import without_name

    procedure, found = faults(text)
    for fault in found:
        tell(f"{where}: {fault}")
    if procedure is None or found:
        return BAD_INPUT
    tell(f"{where}: good; {_counted(procedure)}")
    unnamed = list(dict.fromkeys(f'"{stage.title}"' for stage in without_name(procedure)))
    if unnamed:
        tell(f"{where}: gone to only by typing the title: {', '.join(unnamed)} "
              "(called NAME gives a stage a spoken name)")
    return OK


def _counted(procedure: Procedure) -> str:
    return (f"{procedure.title}: {counted(len(procedure.stages), 'stage')}, "
            f"{counted(len(procedure.steps), 'step')}")
