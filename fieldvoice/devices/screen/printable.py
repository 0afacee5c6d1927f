"""Text that cannot steer a terminal, whoever wrote it."""

from __future__ import annotations


def printable(line: str) -> str:
    """The line with "?" for every character that is not seen, and as many characters as before.

    Escape sequences, marks that turn the reading direction and halves of characters are such; tabs,
    line feeds and strange spaces become blanks.
    """
    return "".join(c if c.isprintable() else " " if c.isspace() else "?" for c in line)
