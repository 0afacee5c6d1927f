"""Whether a gauge shows a vacuum finely enough for the limit that it is held against."""

from __future__ import annotations

from collections.abc import Sequence

from fieldvoice.quantity.constants import from_microns, microns
from fieldvoice.quantity.counted import counted

# A gauge needs this many steps from nothing to the limit. Common practice, no published rule: a
# tenth of a torr against 500 microns just carries it, a dial's hundredth of an inch does not.
STEPS_TO_LIMIT = 5.0
_STEPS = (1_000, 500, 250, 200, 100, 50, 25, 20, 10, 5, 2)  # microns, that displays move by
COARSEST = 0.12  # of the reading: no vacuum gauge moves by more (assumed)


def seen_steps_pa(pressures_pa: Sequence[float]) -> list[float]:
    """The step by which the display seems to move at each reading, Pa; 0 where none is seen.

    Steps coarsen upward, so a step counts when all readings as high or higher are whole steps.
    """
    levels = [microns(pressure) for pressure in pressures_pa]
    found: dict[float, float] = {}
    possible = list(_STEPS)
    for level in sorted(levels, reverse=True):
        possible = [s for s in possible if abs(level - s * round(level / s)) < 0.01]
        found[level] = from_microns(next((s for s in possible if s <= COARSEST * level), 0.0))
    return [found[level] for level in levels]


def unfit_for_hold(step_pa: float, limit_pa: float) -> str | None:
    """Why readings in steps of `step_pa` (Pa) cannot be held against a limit; None when they can.

    One step is the least difference that the gauge, or the unit as said, can show.
    """
    if step_pa * STEPS_TO_LIMIT <= limit_pa * (1.0 + 1e-9):
        return None
    return (
        f"the last digit read is worth {counted(f'{microns(step_pa):.0f}', 'micron')}, too coarse "
        f"for a limit of {microns(limit_pa):.0f}: a hold needs steps of "
        f"{counted(f'{microns(limit_pa) / STEPS_TO_LIMIT:.0f}', 'micron')} or finer, so read "
        "a micron gauge"
    )
