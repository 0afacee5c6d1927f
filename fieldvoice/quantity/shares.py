"""A share of belief in words, never so rounded that it sounds certain."""

from __future__ import annotations


def percent(share: float, places: int = 0) -> str:
    """"93%"; of 0.996 "over 99%", of 0.002 "under 1%". No belief is certain: a 1 was rounded."""
    text, least = f"{share:.{places}%}", 10.0**-places
    rounded = float(text.removesuffix("%"))
    if rounded >= 100:
        return f"over {100 - least:.{places}f}%"
    return f"under {least:.{places}f}%" if rounded == 0 else text


def of_100(share: float) -> str:
    """"93 of 100"; of 0.996 "more than 99 of 100", of 0.002 "fewer than 1 of 100"."""
    rounded = round(100 * share)
    if rounded >= 100:
        return "more than 99 of 100"
    return "fewer than 1 of 100" if rounded <= 0 else f"{rounded} of 100"


def one_of_100(share: float) -> bool:
    """Whether `of_100` says "1 of 100": one gets there, all others get there."""
    return round(100 * share) == 1
