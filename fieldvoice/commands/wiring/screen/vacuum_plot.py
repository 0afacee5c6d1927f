"""The small vacuum plot of the screen: this pull with its forecast, or the hold with its fit."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

from fieldvoice.devices.screen import Plot
from fieldvoice.dialogue import hold_verdict, prompts
from fieldvoice.jobstate.records import LoggedReading
from fieldvoice.jobstate.state import JobState
from fieldvoice.quantity.constants import microns
from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.vacuum.decay import VacuumReading, fitted_curve
from fieldvoice.trade.vacuum.pumpdown import forecast_pull

_MOST = 60  # readings drawn
_CURVE = 24  # places of a fitted curve
_Times = tuple[tuple[float, float], ...]  # minutes and Pa


def vacuum_plot(state: JobState) -> Plot | None:
    """The vacuum of the open unit against time; None where none was read for this pull or hold."""
    held = [t for t in state.hold_readings() if t.quantity == "vacuum" and t.minute is not None]
    if held and state.hold is not None:
        return _of_hold(state, held)
    pull = _this_pull(state)
    return _of_pull(state, pull) if pull else None


def _of_hold(state: JobState, held: Sequence[LoggedReading]) -> Plot:
    step, timer = state.open_step, state.hold
    assert step is not None
    assert step.hold is not None
    assert timer is not None
    last = (timer.due - timer.started).total_seconds() / 60.0
    seen = _times([(t.minute or 0.0, t.si) for t in held])
    last = max(last, seen[-1][0])
    curve = _hold_curve(seen, last, hold_verdict.ambient_c(state))
    names = [step.hold.limit] if step.hold.limit else []
    ticks = [(m, f"{m:g}") for m in _marks(last)]
    ticks[-1] = (ticks[-1][0], f"{ticks[-1][1]} min")
    return Plot(_in_microns(seen), _limits(state, names), _in_microns(curve),
                "hold, with its fit" if curve else "hold", ticks=tuple(ticks))


def _of_pull(state: JobState, pull: Sequence[LoggedReading]) -> Plot:
    start = pull[0].at
    seen = _times([((t.at - start).total_seconds() / 60.0, t.si) for t in pull])
    step = state.open_step
    names = [n.high for n in step.needs if n.quantity == "vacuum" and n.high] if step else []
    blank = state.last("blank-off")
    ahead = _forecast(
        seen, state.limit_si(names[0]) if names else None, hold_verdict.ambient_c(state),
        blank.si if blank is not None and not blank.now.unfit else None)
    told = f"about {math.ceil(ahead[-1][0] - ahead[0][0])} min to go" if ahead else ""
    ends = [(seen[0][0], f"{start:%H:%M}"), (seen[-1][0], f"{pull[-1].at:%H:%M}")]
    return Plot(_in_microns(seen), _limits(state, names), _in_microns(ahead),
                told, ticks=tuple(ends[: len(seen)]))


def _this_pull(state: JobState) -> list[LoggedReading]:
    """Vacuum readings back to the last hold or nitrogen."""
    found: list[LoggedReading] = []
    for taken in reversed(state.readings):
        if taken.hold is not None or taken.quantity == "nitrogen-pressure" or len(found) == _MOST:
            break
        if taken.quantity == "vacuum" and not taken.now.unfit:
            found.insert(0, taken)
    return found


def _times(seen: Sequence[tuple[float, float]]) -> _Times:
    """In growing time, of one moment the later reading; a logarithm has no place for zero."""
    return tuple(sorted({minute: pa for minute, pa in seen if pa > 0}.items()))[-_MOST:]


@lru_cache(maxsize=16)
def _hold_curve(seen: _Times, last: float, ambient_c: float | None) -> _Times:
    """The fitted rise to the end of the hold; empty where there is none."""
    places = [last * n / (_CURVE - 1) for n in range(_CURVE)]
    try:
        curve = fitted_curve([VacuumReading(*at) for at in seen], places, ambient_c=ambient_c)
    except TradeError:
        return ()
    return tuple((m, pa) for m, pa in zip(places, curve, strict=True) if pa > 0)


@lru_cache(maxsize=16)
def _forecast(
    seen: _Times, target_pa: float | None, ambient_c: float | None, blank_off_pa: float | None
) -> _Times:
    """From the last reading on to the target; empty where it is there or unlikely to get there."""
    if target_pa is None:
        return ()
    try:
        found = forecast_pull([VacuumReading(*at) for at in seen], target_pa,
                              ambient_c=ambient_c, blank_off_pa=blank_off_pa)
    except TradeError:
        return ()
    if not 0 < found.minutes_to_target < math.inf:
        return ()
    return (seen[-1], (seen[-1][0] + found.minutes_to_target, target_pa))


def _limits(state: JobState, names: Sequence[str]) -> tuple[tuple[float, str], ...]:
    return tuple((microns(state.limit_si(name)), f"limit {prompts.limit_said(state, name)}")
                 for name in names if state.limit_si(name) > 0)


def _in_microns(seen: _Times) -> _Times:
    return tuple((minute, microns(pa)) for minute, pa in seen)


def _marks(last: float) -> list[float]:
    """Start, middle and end of a hold."""
    return [0.0, round(last / 2, 1), round(last, 1)]
