"""Pulls of the independent simulator as a technician reads them, with the minutes still to go."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from fieldvoice.trade.studies.field_simulator import pull
from fieldvoice.trade.studies.field_systems import (
    GAUGE_TOP_MICRONS,
    MICRON_PA,
    Floats,
    draw,
    read_gauge,
)
from fieldvoice.trade.vacuum.decay_types import VacuumReading

HORIZON_MIN = 120.0
WITHIN_MIN = 30.0  # forecasts are asked for in this first part of a pull
MOST_READINGS = 16
TARGETS_MICRONS = (100, 150, 200, 250, 300, 350, 400, 500, 500, 500, 600, 750, 1000)
READ_LATE = 0.3  # share of pulls first read minutes after the gauge came on scale
BLANKED_OFF = 0.5  # share of rigs blanked off before


@dataclass(frozen=True)
class Case:
    """A pull so far, its target, and what came of it."""

    readings: tuple[VacuumReading, ...]
    target_pa: float
    blank_off_pa: float | None
    to_go_min: float  # until this gauge shows the target; inf when over two hours


def cases(count: int, seed: int) -> Iterator[Case]:
    """A case of each pull that has shown three readings before its target."""
    rng = np.random.default_rng(seed + 1_000_000)
    systems = draw(count, seed)
    never = np.zeros(count)
    curves = pull(systems, never, never, WITHIN_MIN + HORIZON_MIN)
    minutes = np.arange(len(curves.at_gauge_pa), dtype=np.float64) * (curves.every_s / 60.0)
    # what the gauge would show without noise and steps
    steady = curves.at_gauge_pa * systems.gauge_gain + systems.gauge_zero_pa
    times = _times(minutes, steady, rng)
    shown = read_gauge(systems, _at(times, minutes, curves.at_gauge_pa), seed + 1)
    blanks = read_gauge(systems, systems.blank_off_pa[None], seed + 2)[0]
    for index in range(count):
        target = float(rng.choice(TARGETS_MICRONS)) * MICRON_PA
        below = np.flatnonzero(steady[:, index] <= target)
        arrives = float(minutes[below[0]]) if len(below) else np.inf
        known = int((times[:, index] < min(arrives, WITHIN_MIN)).sum())
        blanked = float(blanks[index]) if rng.random() < BLANKED_OFF else None
        if known < 3:
            continue
        read = slice(int(rng.integers(3, known + 1)))
        yield from _case(times[read, index], shown[read, index], target, blanked, arrives)


def _case(
    times: Floats, shown: Floats, target: float, blanked: float | None, arrives: float
) -> Iterator[Case]:
    if shown[-1] <= target:
        return
    readings = tuple(VacuumReading(float(t), float(p)) for t, p in zip(times, shown, strict=True))
    to_go = arrives - readings[-1].minutes
    yield Case(readings, target, blanked, to_go if to_go <= HORIZON_MIN else np.inf)


def _times(minutes: Floats, steady: Floats, rng: np.random.Generator) -> Floats:
    """When each pull is read, minutes (readings, pulls): irregular, each at a pace of its own."""
    count = steady.shape[1]
    on_scale = steady < GAUGE_TOP_MICRONS * MICRON_PA
    first = minutes[np.argmax(on_scale, axis=0)] + rng.uniform(0.0, 1.0, count)
    first += np.where(rng.random(count) < READ_LATE, rng.uniform(1.0, 10.0, count), 0.0)
    first[~on_scale.any(axis=0)] = np.inf
    pace = np.exp(rng.uniform(np.log(0.3), np.log(4.0), count))
    gaps = pace * np.exp(0.5 * rng.standard_normal((MOST_READINGS - 1, count)))
    return np.asarray(np.concatenate([first[None], first + np.cumsum(gaps, axis=0)]))


def _at(times: Floats, minutes: Floats, curves: Floats) -> Floats:
    """True pressures at the times, a column each."""
    columns = zip(times.T, curves.T, strict=True)
    return np.stack([np.interp(when, minutes, curve) for when, curve in columns], axis=1)
