"""Text that cannot steer a terminal, whoever wrote it."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from typing import TypeVar

T = TypeVar("T")


def printable(line: str) -> str:
    """The line with "?" for every character that is not seen, and as many characters as before.

    Escape sequences, marks that turn the reading direction and halves of characters are such; tabs,
    line feeds and strange spaces become blanks.
    """
    return "".join(c if c.isprintable() else " " if c.isspace() else "?" for c in line)


def printable_lines(text: str) -> str:
    """The same for a text of several lines, which stay lines."""
    if text.isprintable():
        return text
    return "\n".join(map(printable, text.split("\n")))


def all_printable(shown: T, *, plain: bool = False) -> T:
    """A text, or a tuple or dataclass of such, with everything in it printable; `plain`: ASCII."""
    if isinstance(shown, str):
        text = printable_lines(shown)
        return in_ascii(text) if plain else text  # type: ignore[return-value]
    if isinstance(shown, tuple):
        return tuple(all_printable(part, plain=plain) for part in shown)  # type: ignore[return-value]
    if is_dataclass(shown) and not isinstance(shown, type):
        changed = {f.name: all_printable(getattr(shown, f.name), plain=plain)
                   for f in fields(shown)}
        return replace(shown, **changed)
    return shown


_IN_ASCII = str.maketrans({  # what writers of procedures use
    "°": "deg", "½": "1/2", "¼": "1/4", "¾": "3/4", "\u2013": "-", "\u2014": "-",
    "\u2018": "'", "\u2019": "'", "\u201c": '"', "\u201d": '"', "\u2026": "...", "²": "2",
    "³": "3", "\u00d7": "x", "\u00b7": ".",
})  # fmt: skip


def in_ascii(text: str) -> str:
    """The text in ASCII alone; "?" for what has no such form."""
    return text.translate(_IN_ASCII).encode("ascii", "replace").decode("ascii")
