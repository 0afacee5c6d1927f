"""So many of something in words: one of it, or more."""

from __future__ import annotations


def counted(number: float | str, one: str, many: str = "") -> str:
    """"1 step", "3 steps", "1 foot", "2 feet"; a number that is text stands as it was written."""
    told = number if isinstance(number, str) else f"{number:,}"
    return f"{told} {one if told in ('1', '-1') else many or f'{one}s'}"
