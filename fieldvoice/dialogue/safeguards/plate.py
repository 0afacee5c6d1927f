"""The design pressure of the plate: doubted when no such system is tested to it, then kept to."""

from __future__ import annotations

from decimal import Decimal

from fieldvoice.jobstate.records import LoggedReading
from fieldvoice.jobstate.state import JobState
from fieldvoice.quantity.constants import PA_PER_PSI
from fieldvoice.quantity.convert import from_si
from fieldvoice.quantity.resolve_reading import Resolved
from fieldvoice.quantity.units import say
from fieldvoice.trade.nitrogen.highest_test import HOTTEST_K, highest_test

PLATE, TEST = "design-pressure", "nitrogen-pressure"
# Stages are whole numbers of psi: a reading at the last one may lie half of one above the plate.
_ROUNDED_PA = 0.5 * PA_PER_PSI
_DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


def doubt(state: JobState, found: Resolved) -> str | None:
    """Why a design pressure is read back, with its digits; None: such systems are tested to it."""
    if found.quantity != PLATE:
        return None
    air = state.site.atmosphere_pa
    highest = highest_test(state.facts.get("refrigerant"))
    if found.si - air <= highest.gauge_pa + _ROUNDED_PA:
        return None
    at_most = say(round(from_si(highest.gauge_pa + air, found.unit, air)), found.unit)
    if highest.refrigerant is None:
        than = f"any published field test, {at_most}"
    elif highest.published:
        than = f"{highest.refrigerant} systems are tested to, {at_most}"
    else:
        unit = state.site.temperature_unit
        hottest = say(round(from_si(HOTTEST_K, unit)), unit)
        than = f"{highest.refrigerant} has at {hottest}, {at_most}"
    digits = digit_by_digit(found.value).capitalize()
    return f"More than {than}. {digits}: is that on the plate?"


def over(state: JobState, found: Resolved) -> LoggedReading | None:
    """The plate, when a test pressure lies above it."""
    if found.quantity != TEST:
        return None
    plate = state.last_good(PLATE)
    return plate if plate is not None and found.si > plate.si + _ROUNDED_PA else None


def stands_over(state: JobState, stated: Resolved) -> LoggedReading | None:
    """The newest test pressure since the plate was read, when a changed plate lies below it."""
    if stated.quantity != PLATE:
        return None
    newest = next((t for t in state.newest_first(state.history.readings)
                   if t.quantity in (PLATE, TEST)), None)
    standing = newest is not None and newest.quantity == TEST
    return newest if standing and newest and newest.si > stated.si + _ROUNDED_PA else None


def stands_now(state: JobState) -> tuple[LoggedReading, LoggedReading] | None:
    """The newest test pressure and the plate that it lies above; a vacuum since shows it let go."""
    newest = next((t for t in state.newest_first(state.history.readings)
                   if t.quantity in (TEST, "vacuum")), None)
    plate = state.last_good(PLATE)
    if newest is None or plate is None or newest.quantity != TEST:
        return None
    return (newest, plate) if newest.si > plate.si + _ROUNDED_PA else None


def digit_by_digit(value: Decimal) -> str:
    """A number as it is spelt out: "eight five zero"."""
    others = {".": "point", "-": "minus"}
    return " ".join(_DIGITS[int(c)] if c.isdigit() else others[c] for c in f"{value:f}")
