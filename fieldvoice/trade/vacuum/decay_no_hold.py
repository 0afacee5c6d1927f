"""Answers to readings that are no hold at all, or not yet one: not yet clear, and what to do."""

from __future__ import annotations

from fieldvoice.trade.vacuum.decay_figures import in_minutes, minute, read_at, um
from fieldvoice.trade.vacuum.decay_types import DecayVerdict, Hold, VacuumReading, Verdict

_CAUSES = (Verdict.TIGHT, Verdict.WET, Verdict.LEAKING)


def too_few(hold: Hold) -> DecayVerdict:
    """Fewer than three readings."""
    last = hold.readings[-1] if hold.readings else VacuumReading(0.0, hold.limits.pass_below_pa)
    more = max(hold.limits.hold_minutes - last.minutes, 2.0)
    said = {0: "No readings yet", 1: "Only one reading", 2: "Only two readings"}
    reason = f"{said[len(hold.readings)]}; a verdict needs at least three."
    action = f"Keep it isolated and read the gauge again over {in_minutes(more)}."
    return _answer(hold, more, (), reason, action)


def falling(hold: Hold, outliers: tuple[int, ...]) -> DecayVerdict:
    """A pressure that falls while it should stand: not isolated."""
    last = hold.readings[-1]
    reason = f"{read_at(last)} and falling: something is still pulling on it."
    action = "Shut the valve to the pump, check it, and start the hold again."
    return _answer(hold, hold.limits.hold_minutes, outliers, reason, action)


def stands_above(hold: Hold, outliers: tuple[int, ...]) -> DecayVerdict:
    """Above the limit from the start, or as soon as it had evened out, and hardly rising since."""
    limit, first, last = hold.limits.pass_below_pa, hold.readings[0], hold.readings[-1]
    began = ("the hold began above it" if first.pressure_pa > limit
             else f"from {um(first.pressure_pa)} it evened out above it")
    reason = (f"{read_at(last)}, limit {um(limit, bare=True)}, hardly rising, but {began}: "
              "it was not pulled low enough, or gave off a little moisture.")
    action = f"Pull to well below {um(limit)}, then start the hold again."
    return _answer(hold, hold.limits.hold_minutes, outliers, reason, action)


def at_top(hold: Hold, count: int) -> DecayVerdict:
    """The last `count` readings are the highest that the gauge shows, and too few came before."""
    since = hold.readings[-count]
    reason = (f"{um(since.pressure_pa).capitalize()} from {minute(since.minutes)} on: the gauge is "
              "at its top, and what the vacuum did then is not seen.")
    action = ("Pull it down again and read the gauge each minute from the start: the way up to its "
              "top tells moisture from a leak.")
    return _answer(hold, hold.limits.hold_minutes, (), reason, action)


def _answer(
    hold: Hold, more: float, outliers: tuple[int, ...], reason: str, action: str
) -> DecayVerdict:
    rate, last = 0.0, VacuumReading(0.0, hold.limits.pass_below_pa)
    if hold.readings:
        last = hold.readings[-1]
    if len(hold.readings) > 1:
        first = hold.readings[0]
        rate = (last.pressure_pa - first.pressure_pa) / (last.minutes - first.minutes)
    return DecayVerdict(
        Verdict.NOT_YET_CLEAR, 1.0 / 3.0, tuple((c, 1.0 / 3.0) for c in _CAUSES), "flat", rate,
        last.pressure_pa, None, None, None, None, None, None, None, more, outliers, reason, action,
        hold.readings, hold.limits, hold.volume_m3, hold.ambient_c, hold.refrigerant,
    )
