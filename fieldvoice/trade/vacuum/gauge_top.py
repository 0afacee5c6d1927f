"""Readings at the top of a gauge's range: they say that the pressure is no lower, and no more."""

from __future__ import annotations

from collections.abc import Sequence

from fieldvoice.quantity.constants import microns

# Tops that vacuum gauges are made with, microns (from memory); 9,999 and its like are tops too
TOPS = (5_000, 8_000, 10_000, 12_000, 15_000, 20_000, 25_000, 30_000, 50_000, 100_000, 760_000)
LOWEST_TOP = 5_000.0
JUMP = 0.8  # a level that is reached from below this share of it at once is a stop


def at_top(pressures_pa: Sequence[float], water_pa: float | None) -> int:
    """How many of the last readings stand at the gauge's top; 0 when the gauge still moves.

    They are the highest, alike to the digit and high, and either a top that gauges are made with
    or a level that the rise ran into. Water at the pipe (`water_pa`, Pa) stands still as well.
    """
    levels = [round(microns(pressure)) for pressure in pressures_pa]
    top = levels[-1]
    count = next((i for i, level in enumerate(reversed(levels)) if level != top), len(levels))
    if count < 2 or top < max(max(levels), LOWEST_TOP):
        return 0
    if _made(top):
        return count
    if water_pa is not None and abs(top / microns(water_pa) - 1.0) < 0.15:
        return 0
    ran_into = len(levels) == count or levels[-count - 1] < JUMP * top
    return count if count > 2 and ran_into else 0


def _made(top: int) -> bool:
    return any(top in (made, made - 1, made - 10) for made in TOPS)
