"""What a vacuum curve shows: readings over time, holds, limits and verdicts, ready to draw."""

from __future__ import annotations

import math
from bisect import bisect
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from fieldvoice.jobstate.records import LoggedReading, Result
from fieldvoice.jobstate.state import JobState
from fieldvoice.jobstate.timers import Timer
from fieldvoice.quantity.constants import microns
from fieldvoice.quantity.units import say, shown
from fieldvoice.review.fitted import FitPoint, fit_of
from fieldvoice.review.time_axis import TimeAxis


@dataclass(frozen=True)
class Break:
    """A time in which nobody worked: the log stopped and went on later."""

    start: datetime
    end: datetime


@dataclass(frozen=True)
class Point:
    """One value: minutes since the curve began, microns; `struck` ones do not count any more."""

    minute: float
    microns: float
    text: str  # "412"
    run: int = 0  # points of one run are joined by a line
    struck: bool = False


@dataclass(frozen=True)
class Hold:
    """A standing-vacuum test: from, to (minutes), and its verdict if one was given."""

    start: float
    end: float  # of its timer, whenever that was noticed
    verdict: str | None
    fit: tuple[FitPoint, ...] = ()  # what the verdict was judged by; minutes as of the curve

    @property
    def words(self) -> str:
        """Its length and verdict: "hold 10 min: tight"."""
        verdict = (self.verdict or "no verdict").replace("-", " ")
        return f"hold {shown(round(self.end - self.start, 1))} min: {verdict}"


@dataclass(frozen=True)
class Limit:
    """A level that was asked for, in microns, with its label."""

    microns: float
    text: str


@dataclass(frozen=True)
class VacuumCurve:
    """Everything to draw; `points` holds those that count, in order of time."""

    began: datetime
    points: tuple[Point, ...]
    struck: tuple[Point, ...]
    holds: tuple[Hold, ...]
    limits: tuple[Limit, ...]
    first: float  # minutes, the span to draw
    last: float
    low: float  # microns
    high: float
    breaks: tuple[tuple[float, float], ...] = ()  # minutes; nobody worked

    @property
    def axis(self) -> TimeAxis:
        """Where minutes are drawn."""
        return TimeAxis(self.first, self.last, self.breaks)


def vacuum_curve(
    state: JobState, limits_pa: Iterable[tuple[str, float]] = (), breaks: Sequence[Break] = ()
) -> VacuumCurve | None:
    """Collect the curve; None when no vacuum was read.

    `limits_pa` adds (label, absolute Pa) to the limits that the verdicts were judged by. The line
    stops at each of the `breaks`.
    """
    readings = [r for r in state.history.readings
                if r.quantity == "vacuum" and any(v.si > 0 for v in r.values)]
    if not readings:
        return None
    began = min(r.at for r in readings)
    holds = _holds(state, readings, began)
    gaps = tuple((_since(gap.start, began), _since(gap.end, began)) for gap in breaks)
    points, struck = _points(state, readings, began, [end for _, end in gaps])
    limits = _limits(state, limits_pa)
    minutes = [p.minute for p in (*points, *struck)] + [m for h in holds for m in (h.start, h.end)]
    levels = [p.microns for p in (*points, *struck)] + [limit.microns for limit in limits]
    first, last = min(minutes), max(max(minutes), min(minutes) + 1.0)
    low, high = _round_down(min(levels) / 1.05), _round_up(max(levels) * 1.05)
    return VacuumCurve(began, points, struck, holds, limits, first, last, low, high, gaps)


def _since(at: datetime, began: datetime) -> float:
    return (at - began).total_seconds() / 60.0


def _points(
    state: JobState, readings: Sequence[LoggedReading], began: datetime, ends: Sequence[float]
) -> tuple[tuple[Point, ...], tuple[Point, ...]]:
    """Values that count, and those that were corrected or withdrawn.

    A sweep breaks the line, and so do the ends of breaks in the work.
    """
    sweeps = sorted([*ends, *(_since(r.at, began) for r in state.readings
                              if r.quantity == "nitrogen-pressure")])
    kept: list[Point] = []
    struck: list[Point] = []
    run = place = 0
    for reading in readings:
        minute = _since(reading.at, began)
        while place < len(sweeps) and sweeps[place] < minute:
            place, run = place + 1, run + 1
        for value in reading.values:
            if value.si <= 0:
                continue
            level = microns(value.si)
            counts = value.seq in state.values_in_force and not value.unfit
            point = Point(minute, level, shown(level), run, not counts)
            (kept if counts else struck).append(point)
    return tuple(kept), tuple(struck)


def _holds(
    state: JobState, readings: Sequence[LoggedReading], began: datetime
) -> tuple[Hold, ...]:
    steps = {r.step for r in readings}
    runs = [kept for t in state.history.timers if t.hold in steps
            and (kept := t.without(state.history.withdrawn.keys())) is not None]
    results = _results(state, runs)
    return tuple(_hold(run, results.get(run.seq), state, began) for run in runs)


def _hold(run: Timer, result: Result | None, state: JobState, began: datetime) -> Hold:
    start = _since(run.started, began)
    fit = () if result is None else tuple(
        replace(at, minute=at.minute + start) for at in fit_of(result.figures))
    verdict = None if result is None else result.verdict
    return Hold(start, _since(end_of(run, state), began), verdict, fit)


def _results(state: JobState, runs: Sequence[Timer]) -> Mapping[int, Result]:
    """The last result of each hold, by the hold's seq: it comes before the next hold begins."""
    starts = [run.seq for run in runs]
    found = {}
    for result in state.results:
        place = bisect(starts, result.seq) - 1
        if result.about == "decay" and place >= 0 and runs[place].hold == result.step:
            found[starts[place]] = result
    return found


def end_of(run: Timer, state: JobState) -> datetime:
    """When a timer was over: a finished one at its due time, however late that was noticed."""
    if run.ended_at is None:
        return min(run.due, state.last_at or run.due)
    return min(run.due, run.ended_at) if run.finished else run.ended_at


def _limits(state: JobState, more: Iterable[tuple[str, float]]) -> tuple[Limit, ...]:
    levels: dict[int, Limit] = {}
    for text, pressure_pa in (*more, *_judged_by(state)):
        level = microns(pressure_pa)
        if level > 0:  # a logarithmic scale has no place for others
            levels.setdefault(round(level), Limit(level, text))
    return tuple(sorted(levels.values(), key=lambda limit: limit.microns))


def _judged_by(state: JobState) -> list[tuple[str, float]]:
    found = []
    for result in state.history.results:
        limits = result.figures.get("limits")
        level = limits.get("pass_below_pa") if isinstance(limits, dict) else None
        if result.about == "decay" and isinstance(level, int | float) and level > 0:
            found.append((f"limit {say(microns(level), 'microns')}", float(level)))
    return found


def _round_down(level: float) -> float:
    decade = 10.0 ** math.floor(math.log10(level))
    return max(m * decade for m in (1, 2, 5) if m * decade <= level * (1 + 1e-9))


def _round_up(level: float) -> float:
    decade = 10.0 ** math.floor(math.log10(level))
    return min(m * decade for m in (1, 2, 5, 10) if m * decade >= level * (1 - 1e-9))


def level_ticks(low: float, high: float) -> list[float]:
    """Levels at 1, 2 and 5 of each decade, from `low` to `high`; decades alone over a wide span."""
    first, last = math.floor(math.log10(low)), math.ceil(math.log10(high))
    steps = (1, 2, 5) if last - first <= 4 else (1,)
    ticks = [m * 10.0**d for d in range(first, last + 1) for m in steps]
    return [t for t in ticks if low * (1 - 1e-9) <= t <= high * (1 + 1e-9)]


def time_ticks(curve: VacuumCurve, most: int) -> list[tuple[float, str]]:
    """Minutes and clock times of at most about `most` round moments within the curve."""
    return curve.axis.ticks(curve.began, most)
