"""Text measured in the columns that a terminal gives it: wide characters take two, marks none."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from functools import lru_cache
from itertools import groupby

from wcwidth import wcwidth

LONGEST = 2_000  # characters of one text that are shown; the log has all of it

Span = tuple[str, str]  # text and tone
Row = list[Span]  # a line of the screen


@lru_cache(maxsize=1024)  # most of a screen is as it was a second ago
def cells(text: str) -> int:
    """The columns that it takes."""
    return len(text) if text.isascii() else sum(map(_width, text))


@lru_cache(maxsize=1024)
def _width(character: str) -> int:
    return max(wcwidth(character), 0)


def cut(text: str, width: int) -> str:
    """As much of its beginning as fits."""
    if text.isascii():
        return text[: max(width, 0)]
    used = 0
    for place, character in enumerate(text):
        used += _width(character)
        if used > width:
            return text[:place]
    return text


def wrapped(text: str, width: int) -> list[str]:
    """Its lines, broken between words where they can be; at least one."""
    shown = text if len(text) <= LONGEST else f"{text[:LONGEST]} ..."
    found = [part for line in shown.split("\n") for part in _broken(line, max(width, 2))]
    return found or [""]


def _broken(line: str, width: int) -> Iterator[str]:
    for part in textwrap.wrap(line, width) or [""]:
        while cells(part) > width:
            head = cut(part, width)
            yield head
            part = part[len(head) :]
        yield part


def row_cells(row: Row) -> int:
    """The columns that a line of spans takes."""
    return sum(cells(text) for text, _ in row)


def fitted(row: Row, width: int) -> Row:
    """The line cut, and filled with blanks, to exactly that many columns."""
    found: Row = []
    left = width
    for text, tone in row:
        part = cut(text, left)
        left -= cells(part)
        found.append((part, tone))
    return [*found, (" " * left, "")] if left else found


def joined(row: Row) -> Row:
    """The same with neighbours of one tone as one span."""
    return [("".join(text for text, _ in spans), tone)
            for tone, spans in groupby(row, key=lambda span: span[1])]


def bare(row: Row) -> Row:
    """The line without the blanks at its end; each would be drawn like a character."""
    kept = list(row)
    while kept and kept[-1][1] in ("", "dim", "figure") and not kept[-1][0].strip():
        kept.pop()
    if kept and kept[-1][1] in ("", "dim", "figure"):
        kept[-1] = (kept[-1][0].rstrip(), kept[-1][1])
    return kept


def beside(left: list[Row], right: list[Row], width: int, gap: int) -> list[Row]:
    """Two blocks side by side, the left one as wide as `width`."""
    height = max(len(left), len(right))
    both = zip(left + [[]] * (height - len(left)), right + [[]] * (height - len(right)),
               strict=True)  # fmt: skip
    return [[*fitted(a, width), (" " * gap, ""), *b] for a, b in both]
