"""How often words are said beside their neighbours in a rule: grammar/how-often.txt."""

from __future__ import annotations

from functools import cache
from importlib.resources import files


@cache
def table() -> dict[str, float]:
    """Words that are said more or less often than others; ValueError names a bad line."""
    found: dict[str, float] = {}
    text = (files("fieldvoice.grammar") / "how-often.txt").read_text("utf-8")
    for number, line in enumerate(text.splitlines(), 1):
        entry = line.split("#")[0].split()
        if not entry:
            continue
        try:
            word, times = entry[0], float(entry[1])
        except (IndexError, ValueError):
            fault = f"how-often.txt, line {number}: write a word and a number, not {line!r}"
            raise ValueError(fault) from None
        if not 0 < times <= 100:
            raise ValueError(f"how-often.txt, line {number}: times are above 0 and at most 100")
        found[word] = times
    return found


def how_often(word: str) -> float:
    """Times a word is said for each time one beside it is said; mostly 1."""
    return table().get(word, 1.0)
