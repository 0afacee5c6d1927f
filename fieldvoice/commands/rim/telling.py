"""The one way in which commands print: nothing that was written elsewhere can steer a terminal."""

from __future__ import annotations

import argparse
import contextlib
import json
import sys
from pathlib import Path
from typing import Any, TextIO


def safe(text: str) -> str:
    """The text with "?" for what is not seen, as `printable` has it; its line breaks stay."""
    from fieldvoice.devices.screen import printable

    return "\n".join(map(printable, text.split("\n")))


def tell(text: object = "", *, end: str = "\n", file: TextIO | None = None) -> None:
    """Print a text, made safe; at once, so that whoever reads a pipe need not wait."""
    print(safe(str(text)), end=end, file=file or sys.stdout, flush=True)


def tell_trouble(text: object) -> None:
    """Print what is wrong on standard error; where that takes nothing, nobody can be told."""
    with contextlib.suppress(OSError):
        tell(f"fieldvoice: {text}", file=sys.stderr)


def tell_json(found: Any, file: TextIO | None = None) -> None:
    """Print one JSON object a line. ASCII alone: it is the same data in every locale, and safe."""
    print(json.dumps(found, allow_nan=False, default=_plain), file=file or sys.stdout, flush=True)


def _plain(value: Any) -> str:
    if isinstance(value, Path):
        return str(value)
    raise TypeError(f"{value!r} is no JSON value")


class SafeParser(argparse.ArgumentParser):
    """Repeats wrong arguments safely, and fails where help cannot be written; so do the parsers of
    its sub-commands.
    """

    def _print_message(self, message: str, file: Any = None) -> None:
        tell(message, end="", file=file or sys.stderr)
