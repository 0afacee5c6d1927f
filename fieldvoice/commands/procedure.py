"""`fieldvoice procedure`: check a procedure file, show one, list those that come along."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from .errors import BAD_INPUT, OK

if TYPE_CHECKING:
    from fieldvoice.job.procedure import Procedure

HELP = "check or show a procedure file"
EXAMPLE = """\
examples:
  fieldvoice procedure list
  fieldvoice procedure show evacuate-and-release > mine.procedure
  fieldvoice procedure check mine.procedure
"""


def add_parser(commands: Any) -> None:
    """Add the command to argparse's `commands`."""
    parser = commands.add_parser(
        "procedure", help=HELP, description=HELP, epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
    for name, about in (("check", "report each fault with line and column"), ("show", "print it")):
        action = actions.add_parser(name, help=about, description=about)
        action.add_argument("procedure", metavar="PROCEDURE", help="a file, or a listed name")
    actions.add_parser("list", help="name those that come with Fieldvoice")


def run(args: argparse.Namespace) -> int:
    """Check, show or list."""
    if args.action == "list":
        return _list()
    from .procedures import find_text

    text, where = find_text(args.procedure)
    if args.action == "show":
        print(text, end="")
        return OK
    return _check(text, where)


def _list() -> int:
    from fieldvoice.job.procedure_text import shipped_names

    from .procedures import find_text, load_named

    for name in shipped_names():
        print(f"{name:24} {load_named(*find_text(name)).title}")
    return OK


def _check(text: str, where: str) -> int:
    from fieldvoice.job.procedure import ProcedureError
    from fieldvoice.job.procedure_check import check
    from fieldvoice.job.procedure_text import parse

    try:
        found = parse(text)
        faults = check(found)
    except ProcedureError as error:
        faults = [error]
    for fault in faults:
        print(f"{where}: {fault}")
    if faults:
        return BAD_INPUT
    print(f"{where}: good; {_counted(found)}")
    return OK


def _counted(procedure: Procedure) -> str:
    return f"{procedure.title}: {len(procedure.stages)} stages, {len(procedure.steps)} steps"
