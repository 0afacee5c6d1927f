"""A table for people: numbers to the right, and where it is too wide a paragraph for each row."""

from __future__ import annotations

import os
import shutil
import sys
import textwrap
from collections.abc import Iterator, Sequence

_GAP, _INDENT = "  ", "  "


def room() -> int | None:
    """How many columns there are to print in; None: as many as are wanted."""
    if sys.stdout.isatty() or os.environ.get("COLUMNS", "").isdecimal():
        return shutil.get_terminal_size().columns
    return None


def table_lines(
    names: Sequence[str], rows: Sequence[Sequence[str]], numbers: Sequence[bool], width: int | None
) -> Iterator[str]:
    """The lines of a table; headings are wrapped first, then each row is a paragraph of its own.

    `numbers`: which columns hold numbers.
    """
    for headings in ([[name] for name in names], [name.split() for name in names]):
        widths = [max(map(len, (*head, *column))) for head, column in
                  zip(headings, zip(*rows, strict=True), strict=True)] if rows else []
        if width is None or len(_INDENT) + sum(widths) + len(_GAP) * (len(widths) - 1) <= width:
            yield from _laid(headings, rows, numbers, widths)
            return
    assert width is not None
    for row in rows:
        yield from _paragraph(names, row, width)


def _laid(
    headings: Sequence[Sequence[str]], rows: Sequence[Sequence[str]], numbers: Sequence[bool],
    widths: Sequence[int],
) -> Iterator[str]:
    high = max(map(len, headings))
    heads = zip(*([""] * (high - len(head)) + list(head) for head in headings), strict=True)
    for row in (*heads, *rows):
        cells = (text.rjust(width) if number else text.ljust(width)
                 for text, width, number in zip(row, widths, numbers, strict=True))
        yield f"{_INDENT}{_GAP.join(cells)}".rstrip()


def _paragraph(names: Sequence[str], row: Sequence[str], width: int) -> Iterator[str]:
    """The first cell, and below it the others with their names."""
    yield f"{_INDENT}{row[0]}"
    told = ", ".join(f"{name} {text}" for name, text in zip(names[1:], row[1:], strict=True)
                     if text)
    yield from textwrap.wrap(told, max(width, 20), initial_indent=2 * _INDENT,
                             subsequent_indent=3 * _INDENT, break_on_hyphens=False)
