"""The command line: finds the command, runs it, turns errors into messages and exit codes."""

from __future__ import annotations

import argparse
import importlib
import os
import sys
from collections.abc import Sequence
from typing import Any

from fieldvoice import __version__
from fieldvoice.commands import COMMANDS
from fieldvoice.commands.rim.streams import flush_or_fail, let_go, make_ready
from fieldvoice.commands.rim.telling import SafeParser, tell_trouble
from fieldvoice.commands.wiring.errors import BAD_INPUT, FAILED, INTERRUPTED, OK
from fieldvoice.errors import FieldvoiceError

ABOUT = """\
A field assistant for installing split air-conditioning, worked by voice or by typed lines,
offline. It reminds and records; it replaces neither local codes, nor the equipment's instructions,
nor a licence."""
EXAMPLE = """\
examples:
  fieldvoice demo
  fieldvoice work evacuate-and-release --job unit-12b
  fieldvoice COMMAND --help
"""


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command; returns 0, 1 for a failure, 2 for bad usage or input, 130 when interrupted."""
    make_ready()
    if "_ARGCOMPLETE" in os.environ:  # a shell completes a line
        from fieldvoice.commands.wiring.what_may_follow import answer, line_so_far

        answer(_parser(line_so_far()))  # leaves
    arguments = list(sys.argv[1:] if argv is None else argv)
    _share_the_processor(arguments)
    parser = _parser(arguments)
    try:
        args = parser.parse_args(arguments)
    except SystemExit as leave:  # argparse has said why
        return int(leave.code or OK)
    except OSError as error:
        return _unwritten(error)
    if args.command is None:
        parser.print_help(sys.stderr)
        return BAD_INPUT
    return _run(args)


def _share_the_processor(arguments: Sequence[str]) -> None:
    """Let numpy, which is not loaded yet, work in one thread, but where a voice is learned.

    Hearing multiplies small matrices: more threads save little, and beside other busy programs they
    wait for each other actively, which took four times the processor time.
    """
    if arguments[:1] != ["learn-voice"]:
        os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def _parser(arguments: Sequence[str]) -> argparse.ArgumentParser:
    parser = SafeParser(
        prog="fieldvoice", description=ABOUT, epilog=EXAMPLE,
        formatter_class=lambda prog: argparse.RawDescriptionHelpFormatter(
            prog, max_help_position=16
        ),
    )  # fmt: skip
    parser.add_argument("--version", action="version", version=f"fieldvoice {__version__}")
    commands: Any = parser.add_subparsers(dest="command", metavar="COMMAND", title="commands")
    asked_for = next((word for word in arguments if not word.startswith("-")), None)
    for name, (module, about) in COMMANDS.items():
        if name == asked_for:
            importlib.import_module(module).add_parser(commands)
        else:
            commands.add_parser(name, help=about)
    return parser


def _run(args: argparse.Namespace) -> int:
    try:
        code = importlib.import_module(COMMANDS[args.command][0]).run(args)
        flush_or_fail()
        return int(code or OK)
    except KeyboardInterrupt:
        return INTERRUPTED
    except FieldvoiceError as error:  # any other error is a fault, to be shown whole
        return _failed(error, BAD_INPUT)
    except OSError as error:
        return _unwritten(error)


def _unwritten(error: OSError) -> int:
    """The code where a command could not write."""
    if isinstance(error, BrokenPipeError):  # `| head` has read enough
        let_go()
        return OK
    return _failed(error, FAILED)


def _failed(error: FieldvoiceError | OSError, code: int) -> int:
    """Say why, and leave nothing behind in standard output that it would not take."""
    why = error.strerror if isinstance(error, OSError) and error.filename is None else None
    tell_trouble(f"cannot write the output: {why}" if why else error)
    try:
        flush_or_fail()
    except OSError:
        let_go()
    return code


if __name__ == "__main__":
    sys.exit(main())
