"""Measure how often the forecast's 90 % interval holds the true time, on simulated pulls.

`python -m fieldvoice.trade.studies.pumpdown_study` prints it; --json makes pumpdown_study.json
beside this file, of seed 17, the default while the fit was made. pumpdown_study_fresh.json
is seed 5209, which played no part in that.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from fieldvoice.quantity.constants import from_microns
from fieldvoice.trade.studies.decay_simulator import Floats, draw_systems, start_of_pull, step
from fieldvoice.trade.vacuum.decay_types import VacuumReading
from fieldvoice.trade.vacuum.pumpdown import forecast_pull
from fieldvoice.trade.vacuum.pumpdown_fit import HORIZON_MIN

RECORD_S = 5.0
GAUGE_TOP_PA = from_microns(20_000)  # a vacuum gauge reads from about here down
WITHIN_MIN = 30.0  # forecasts are asked for in this first part of a pull


@dataclass(frozen=True)
class Coverage:
    """Share of pulls whose true time lay in the interval; and how wide the intervals were."""

    pulls: int
    covered: float
    truth_earlier: float
    truth_later: float
    never_reached: float
    open_intervals: float
    likely_given: float  # share of forecasts with a finite "likely within"
    likely_kept: float  # share of those pulls that were there by then
    median_error_minutes: float  # of the median forecast, where both are finite

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return asdict(self)


def curves(count: int, seed: int) -> tuple[Floats, Floats]:
    """Minutes and true pressures (times, systems) of simulated pulls of two hours and more."""
    systems = draw_systems(count, seed)
    state = start_of_pull(systems)
    rows = [state.pressure_pa]
    for second in range(1, int((HORIZON_MIN + WITHIN_MIN) * 60) + 1):
        state = step(systems, state, 1.0, pumping=True)
        if second % RECORD_S == 0:
            rows.append(state.pressure_pa)
    return np.linspace(0.0, (len(rows) - 1) * RECORD_S / 60.0, len(rows)), np.stack(rows)


def cases(count: int, seed: int) -> Iterator[tuple[list[VacuumReading], float, float]]:
    """Readings, target Pa, and true minutes still to go (inf if over two hours), a pull each."""
    minutes, true = curves(count, seed)
    rng = np.random.default_rng(seed + 1)
    for curve in true.T:
        target = from_microns(float(rng.uniform(150, 600)))
        below = np.flatnonzero(curve <= target)
        arrives = float(minutes[below[0]]) if len(below) else np.inf
        first = float(minutes[np.flatnonzero(curve < GAUGE_TOP_PA)[0]])
        gap = float(rng.choice([0.25, 0.5, 1.0, 2.0]))
        most = int((min(arrives, WITHIN_MIN) - first - 0.01) / gap)
        if most < 3:
            continue
        times = first + gap * np.arange(int(rng.integers(3, min(most, 25) + 1)) + 1)
        values = np.interp(times, minutes, curve)
        noise = (0.01 * values + from_microns(5)) * rng.standard_normal(len(values))
        seen = np.maximum(values + noise, from_microns(1))
        to_go = arrives - float(times[-1])
        readings = [VacuumReading(float(t), float(p)) for t, p in zip(times, seen, strict=True)]
        yield readings, target, to_go if to_go <= HORIZON_MIN else np.inf


def study(count: int, seed: int) -> Coverage:
    """Forecast every case and count."""
    low, middle, likely, high, truth = [], [], [], [], []
    for readings, target, to_go in cases(count, seed):
        found = forecast_pull(readings, target)
        low.append(found.low_minutes)
        middle.append(found.minutes_to_target)
        likely.append(found.likely_minutes)
        high.append(found.high_minutes)
        truth.append(to_go)
    lows, mids, by, highs, true = (np.array(v) for v in (low, middle, likely, high, truth))
    sighted = np.isfinite(by)
    both = np.isfinite(mids) & np.isfinite(true)
    half_record = 0.5 * RECORD_S / 60.0  # the truth itself is known no better
    earlier, later = true < lows - half_record, true > highs + half_record
    return Coverage(
        len(true), float(1.0 - (earlier | later).mean()), float(earlier.mean()),
        float(later.mean()), float(np.isinf(true).mean()), float(np.isinf(highs).mean()),
        float(sighted.mean()), float((true[sighted] <= by[sighted] + half_record).mean()),
        float(np.median(np.abs(mids[both] - true[both]))),
    )


def main() -> None:
    """Print the coverage."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pulls", type=int, default=6000, help="systems drawn")
    parser.add_argument("--seed", type=int, default=17)
    parser.add_argument("--json", action="store_true")
    args = parser.parse_args()
    result = {"seed": args.seed, **study(args.pulls, args.seed).to_dict()}
    if args.json:
        print(json.dumps(result, indent=2))
    else:
        for name, value in result.items():
            print(f"{name.replace('_', ' ')}: {value:.3g}")


if __name__ == "__main__":
    main()
