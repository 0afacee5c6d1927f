"""A text cut where a speaker breathes: the first piece sounds while the next is synthesized."""

from __future__ import annotations

import re

LONGEST = 90  # characters; Pico holds up all other threads while it works on a piece
_SENTENCE = re.compile(r"(?<=[.!?:;])\s+(?=\S)|\n+")
_CLAUSE = re.compile(r"(?<=,)\s+")
_WORD = re.compile(r"\s+")


def pieces(text: str) -> list[str]:
    """The text in pieces of at most about LONGEST characters, none of them without a word."""
    found = _cut([text], (_SENTENCE,), 0)
    found = _cut(found, (_CLAUSE, _WORD), LONGEST)
    return [piece.strip() for piece in found if re.search(r"\w", piece)]


def _cut(texts: list[str], ways: tuple[re.Pattern[str], ...], longest: int) -> list[str]:
    for way in ways:
        texts = [part for text in texts for part in _joined(way.split(text), longest)]
    most = 4 * LONGEST  # of one word
    return [text[at : at + most] for text in texts for at in range(0, len(text), most)]


def _joined(parts: list[str], longest: int) -> list[str]:
    """Parts put together again as far as they fit."""
    found: list[str] = []
    for part in parts:
        if found and len(found[-1]) + len(part) < longest:
            found[-1] += f" {part}"
        else:
            found.append(part)
    return found
