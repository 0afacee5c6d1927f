"""Whether a gauge shows a vacuum finely enough for the limit that it is held against."""

from __future__ import annotations

from fieldvoice.quantity.constants import microns

# A gauge needs this many steps from nothing to the limit. Common practice, no published rule: a
# tenth of a torr against 500 microns just carries it, a dial's hundredth of an inch does not.
STEPS_TO_LIMIT = 5.0


def unfit_for_hold(step_pa: float, limit_pa: float) -> str | None:
    """Why readings in steps of `step_pa` (Pa) cannot be held against a limit; None when they can.

    One step is the least difference that the gauge, or the unit as said, can show.
    """
    if step_pa * STEPS_TO_LIMIT <= limit_pa * (1.0 + 1e-9):
        return None
    return (
        f"the last digit read is worth {microns(step_pa):.0f} microns, too coarse for a limit of "
        f"{microns(limit_pa):.0f}: a hold needs steps of {microns(limit_pa) / STEPS_TO_LIMIT:.0f} "
        "microns or finer, so read a micron gauge"
    )
