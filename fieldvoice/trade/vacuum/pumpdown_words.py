"""The forecast of a pull in words: each figure said together with what it counts."""

from __future__ import annotations

import math
from dataclasses import dataclass

from fieldvoice.quantity.constants import microns
from fieldvoice.quantity.counted import counted
from fieldvoice.quantity.shares import of_100, one_of_100
from fieldvoice.trade.vacuum.pumpdown_causes import NEXT_ACTIONS, RISES

CERTAIN = 0.97  # from this chance on nothing is said of pulls that do not get there


@dataclass(frozen=True)
class Told:
    """What a forecast has to say; minutes of those pulls that get there, inf when not told."""

    last_pa: float
    target_pa: float
    low: float
    middle: float
    high: float
    chance: float  # of being there within two hours
    cause: str | None
    stalled: bool
    falls: bool  # its fall is likely to carry it to the target
    blank_off_pa: float | None
    refuted: bool  # the pull reads below the blank-off

    @property
    def out_of_reach(self) -> bool:
        """Whether pump, hoses and gauge alone cannot reach the target."""
        above = self.blank_off_pa is not None and self.blank_off_pa >= self.target_pa
        return above and not self.refuted and self.last_pa > self.target_pa


def reason(told: Told) -> str:
    """What is to be expected, in a sentence or two."""
    target = _um(told.target_pa)
    if told.last_pa <= told.target_pa:
        return f"Already at {target}."
    if told.out_of_reach and told.blank_off_pa is not None:
        return (f"The rig alone read {_um(told.blank_off_pa)} at blank-off: it cannot reach "
                f"{target}. Likely {told.cause}.")
    if told.refuted and told.blank_off_pa is not None:
        return (f"The pull reads below the blank-off of {_um(told.blank_off_pa)}: that reading "
                f"no longer holds. {_expected(told, target)}")
    return _expected(told, target)


def next_action(told: Told) -> str:
    """What to do now."""
    if told.last_pa <= told.target_pa:
        return "Go on until it is dry, then isolate and start the hold."
    return "Keep pumping." if told.cause is None else NEXT_ACTIONS[told.cause]


def _expected(told: Told, target: str) -> str:
    last = _um(told.last_pa)
    if told.cause == RISES:
        return f"{last}, and {told.cause}: no forecast until it falls."
    if not told.falls:
        get = "gets" if one_of_100(told.chance) else "get"
        some = f"{of_100(told.chance)} such pulls {get} to {target} within two hours"
        if math.isfinite(told.middle):
            some += f", half of those in {_min(told.middle)}"
        held = (f"and hardly falling: {told.cause}" if told.stalled
                else "so far; its fall alone will likely stop short")
        return f"{last} {held}. As water dries up, {some}."
    about = f"{_about(told.middle)} to {target}{_between(told.low, told.high)}"
    if told.chance >= CERTAIN:
        return f"{about}."
    away = of_100(1.0 - told.chance)
    return f"{about}, if it gets there; {away} such pulls do not within two hours."


def _between(low: float, high: float) -> str:
    """The interval in whole minutes, rounded outward."""
    most = _min(math.ceil(high))
    if high <= 1.0:
        return ""
    return f", between {math.floor(low)} and {most}" if low >= 1.0 else f", at most {most}"


def _about(minutes: float) -> str:
    return "Under a minute" if minutes < 1.0 else f"About {_min(minutes)}"


def _um(pressure_pa: float) -> str:
    """A reading as it was read, not rounded."""
    return counted(f"{microns(pressure_pa):.0f}", "micron")


def _min(minutes: float) -> str:
    if minutes < 1.0:
        return "a minute"
    return counted(f"{minutes:.0f}", "minute")
