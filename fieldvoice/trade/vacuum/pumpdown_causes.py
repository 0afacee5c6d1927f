"""What likeliest holds a pull up, and what to do about it."""

from __future__ import annotations

from fieldvoice.quantity.constants import KELVIN_AT_0_C, from_microns
from fieldvoice.trade.vacuum import water

RISES = "the pressure is rising"
RISING = 0.15  # ln of a rise in 5 minutes that is no stall but a fault (common practice)
AHEAD_MIN = 5.0
OLD_OIL_PA = from_microns(100)  # a blank-off above this speaks of old oil (common practice)
OLD_OIL = "contaminated pump oil"
PUMP = "pump at its limit"

NEXT_ACTIONS = {
    RISES: "Check that the pump runs, its valve is open, and no hose is loose.",
    OLD_OIL: "Change the pump oil, run with gas ballast, and blank off again.",
    PUMP: "The pump can do no more: check it alone, use another, or check the gauge.",
    "water boiling off": "Open the gas ballast, warm the pipe, or break with dry nitrogen and "
    "pull again. Below its freezing point it turns to ice and leaves slowly.",
    "water freezing": "Break with dry nitrogen, warm the low spots, and pull again.",
    "leak, moisture or pump": "Isolate and watch for ten minutes: a steady rise is a leak, a "
    "levelling one is moisture; none means the pump, its oil or the hose. Blank off the pump "
    "to tell.",
    "leak or moisture": "Isolate and watch for ten minutes: a steady rise is a leak, a "
    "levelling one is moisture. Check that cores are out and hoses wide.",
}


def of_the_rig(blank_off_pa: float) -> str:
    """Why pump, hoses and gauge alone read no lower."""
    return OLD_OIL if blank_off_pa > OLD_OIL_PA else PUMP


def of_a_stall(
    last_pa: float, slope: float, ambient_c: float | None, blank_off_pa: float | None
) -> str:
    """The likeliest cause of a stall by its level (slope of ln p a minute); it proves nothing."""
    if slope * AHEAD_MIN > RISING:
        return RISES
    if blank_off_pa is not None and last_pa < 2.0 * blank_off_pa:
        return of_the_rig(blank_off_pa)
    if ambient_c is not None:
        at_pipe = water.vapour_pressure_pa(ambient_c + KELVIN_AT_0_C)
        if 0.6 * at_pipe < last_pa < 1.3 * at_pipe:
            return "water boiling off"
    if 0.7 * water.TRIPLE_PA < last_pa < 1.4 * water.TRIPLE_PA:
        return "water freezing"
    return "leak, moisture or pump" if blank_off_pa is None else "leak or moisture"
