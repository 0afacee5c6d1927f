"""Measure the forecast of a pull on the independent simulator: chances told, intervals told.

`python -m fieldvoice.trade.studies.pumpdown_study` prints, for each fifth of told chances, how many
pulls got there within two hours; how often the interval held the true minutes of those that did;
and how many forecasts give no upper end. The default seed played no part in the fit.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fieldvoice.trade.studies.field_systems import Floats
from fieldvoice.trade.studies.pumpdown_cases import Case, cases
from fieldvoice.trade.vacuum.pumpdown import PullForecast, forecast_pull

FIFTHS = 5
ROW_MIN = 2.5 / 60.0  # the truth is known to half a row of the simulator


@dataclass(frozen=True)
class Fifth:
    """Forecasts whose told chance lay in one fifth."""

    low: float
    cases: int
    told: float  # mean of the chances told
    arrived: float  # share that was there within two hours
    times_wide: float | None  # median of upper over lower end, of those that have an upper end


@dataclass(frozen=True)
class Reliability:
    """Chances and intervals told, against what came."""

    pulls: int
    never_arrived: float
    fifths: tuple[Fifth, ...]
    no_upper_end: float  # share of forecasts
    covered: float  # of pulls that arrived, given an upper end: truth in the 90 % interval
    earlier: float
    later: float
    covered_of_all: float  # the same, where those that never arrived count as missed
    times_wide: float  # median of the upper over the lower end
    error_minutes: float  # median miss of the median, of those that arrived
    chance_score: float  # mean of minus ln of the chance given to what came; 0.69 says nothing

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return asdict(self)


def forecast(case: Case) -> PullForecast:
    """The forecast of one case."""
    return forecast_pull(case.readings, case.target_pa, blank_off_pa=case.blank_off_pa)


def study(known: Iterable[Case]) -> Reliability:
    """Forecast every case and count."""
    pairs = [(forecast(case), case.to_go_min) for case in known]
    told = np.array([found.chance_of_reaching for found, _ in pairs])
    low = np.array([found.low_minutes for found, _ in pairs])
    middle = np.array([found.minutes_to_target for found, _ in pairs])
    high = np.array([found.high_minutes for found, _ in pairs])
    true = np.array([to_go for _, to_go in pairs])
    came, closed = np.isfinite(true), np.isfinite(high)
    both = came & closed
    earlier, later = true < low - ROW_MIN, true > high + ROW_MIN
    wide = np.where(closed, high, np.nan) / np.maximum(low, ROW_MIN)
    given = np.clip(np.where(came, told, 1.0 - told), 1e-3, 1.0)
    return Reliability(
        len(true), float(1.0 - came.mean()), fifths(told, came, wide), float(1.0 - closed.mean()),
        float(1.0 - (earlier | later)[both].mean()), float(earlier[both].mean()),
        float(later[both].mean()), float(1.0 - (earlier | later)[closed].mean()),
        float(np.median(wide[closed])),
        float(np.median(np.abs(middle - np.where(came, true, 0.0))[both])),
        -float(np.log(given).mean()),
    )


def fifths(told: Floats, came: NDArray[np.bool_], wide: Floats) -> tuple[Fifth, ...]:
    """A row for each fifth of told chances that has cases; `wide`: nan without an upper end."""
    place = np.minimum((told * FIFTHS).astype(int), FIFTHS - 1)
    rows = []
    for k in range(FIFTHS):
        here = place == k
        if here.any():
            ends = wide[here & np.isfinite(wide)]
            rows.append(Fifth(k / FIFTHS, int(here.sum()), float(told[here].mean()),
                              float(came[here].mean()),
                              float(np.median(ends)) if len(ends) else None))
    return tuple(rows)


def table(found: Reliability) -> str:
    """The study in words and rows."""
    rows = [f"{found.pulls} pulls, {found.never_arrived:.1%} never at the target in two hours",
            "chance told    pulls  told  arrived  upper / lower end"]
    for f in found.fifths:
        wide = "-" if f.times_wide is None else f"{f.times_wide:.1f}"
        rows.append(f"{f.low:.0%} to {f.low + 1 / FIFTHS:.0%}".ljust(13)
                    + f"{f.cases:7}{f.told:6.1%} {f.arrived:8.1%} {wide:>8}")
    left_out = ("pulls", "never_arrived", "fifths")
    rows += [f"{name.replace('_', ' ')}: {value:.3f}" for name, value in found.to_dict().items()
             if name not in left_out]
    return "\n".join(rows)


def main() -> None:
    """Print the study."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pulls", type=int, default=4000, help="systems drawn")
    parser.add_argument("--seed", type=int, default=5209)
    parser.add_argument("--json", action="store_true")
    args = parser.parse_args()
    found = study(cases(args.pulls, args.seed))
    print(json.dumps({"seed": args.seed, **found.to_dict()}, indent=2) if args.json
          else table(found))


if __name__ == "__main__":
    main()
