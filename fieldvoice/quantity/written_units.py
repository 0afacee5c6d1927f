"""The unit that a written word means: "um", "µm", "inHg vac", "°F", "feet", "oz/ft"."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from fieldvoice.quantity.units import (
    PER,
    PRESSURE_SCALES,
    SHARED_WORDS,
    SI_UNITS,
    UNITS,
    Scale,
    Unit,
)


def find(word: str, dimension: str | None = None) -> Unit | None:
    """The unit of a word, shown, said or written short; None: there is none of that dimension.

    Without a dimension "F" is a temperature, not a difference of two. A stroke joins two units of
    the table: "oz/ft" is one, though no table lists it.
    """
    found = _by_word().get(fold(word), {})
    if dimension in found:
        return found[dimension]
    if dimension is None and found:
        return next(iter(found.values()))
    return _composed(word, dimension)


def unit_name(word: str) -> str:
    """The name in units.UNITS of a unit as it was written; a word that means none comes back."""
    found = find(word)
    return word if found is None else found.name


def scale(word: str) -> Scale | None:
    """The pressure scale of a word that says nothing of its zero; None: it says so, or is none."""
    return _scales().get(fold(word))


def fold(word: str) -> str:
    """The word as it is looked up: either case, any spacing, either letter for micro."""
    return " ".join(word.split()).casefold()


def usual(dimension: str) -> str:
    """The units of a dimension as they are written, for an error: "ft, in, m, cm, mm"."""
    names = [u.written[0] if u.written else u.name for u in UNITS.values()
             if u.dimension == dimension]
    pair = next((pair for pair, joined in PER.items() if joined == dimension), None)
    if pair and not names:
        above, below = (usual(part) for part in pair)
        return f"one of {above}, a stroke and one of {below}"
    return ", ".join(names)


@cache
def _by_word() -> dict[str, dict[str, Unit]]:
    found: dict[str, dict[str, Unit]] = {}
    for unit in UNITS.values():
        for word in _words(unit):
            found.setdefault(fold(word), {}).setdefault(unit.dimension, unit)
    return found


def _words(unit: Unit) -> Iterator[str]:
    yield from (unit.name, unit.screen, *unit.written)
    shared = SHARED_WORDS.get(unit.words, {})
    if shared.get(unit.dimension, unit.name) == unit.name:  # else "degrees": the site decides
        yield from (unit.words, unit.one)


@cache
def _scales() -> dict[str, Scale]:
    return {fold(word): scale for name, scale in PRESSURE_SCALES.items()
            for word in (name, *scale.spoken.split("|")) if word}


def _composed(word: str, dimension: str | None) -> Unit | None:
    above_word, stroke, below_word = word.partition("/")
    if not stroke:
        return None
    for (above_kind, below_kind), joined in PER.items():
        above, below = _plain(above_word, above_kind), _plain(below_word, below_kind)
        if above and below and dimension in (joined, None):
            return Unit(
                f"{above.name}/{below.name}", joined, f"({above.pint})/({below.pint})",
                f"{above.screen}/{below.screen}", f"{above.words} per {below.one}",
                f"{above.one} per {below.one}",
            )
    return None


def _plain(word: str, dimension: str) -> Unit | None:
    assert dimension in SI_UNITS
    return _by_word().get(fold(word), {}).get(dimension)
