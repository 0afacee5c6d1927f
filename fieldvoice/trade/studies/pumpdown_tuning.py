"""Fit the numbers of the pull's outlook to simulated pulls, by maximum likelihood.

`python -m fieldvoice.trade.studies.pumpdown_tuning` prints them for vacuum/pumpdown_outlook.py (a
few minutes; needs scipy, of the extra `[train]`). pumpdown_study.py measures on other seeds.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from dataclasses import astuple

import numpy as np

from fieldvoice.trade.studies.pumpdown_cases import Case, cases
from fieldvoice.trade.vacuum.pumpdown_outlook import (
    Floats,
    Numbers,
    Outlook,
    Signs,
    outlook,
    signs,
)

SEEDS = (101, 102, 103, 104, 105, 106)
PULLS = 2500
RIDGE = 3e-5  # keeps numbers finite that the cases say nothing about
# The minutes are known to the five seconds of the simulator's rows, or one part in a hundred
BESIDE_MIN, BESIDE = 0.04, 0.01
START = Numbers((5.0, 2.5, -2.0, -0.5, 1.5, 0.0), (-0.4, 0.5, -0.3, -0.2, 0.0), (0.2, 0.9, 0.5),
                0.2, (3.9, 0.0, 0.0), 1.1)


def seen(known: Iterable[Case]) -> tuple[Signs, Floats]:
    """Signs of all cases whose rig can reach the target, and their minutes to go."""
    rows, to_go = [], []
    for case in known:
        blank = case.blank_off_pa or 0.0
        if blank < case.target_pa:
            times = np.array([r.minutes for r in case.readings])
            pressures = np.array([r.pressure_pa for r in case.readings])
            found = signs(times, pressures, case.target_pa, blank)
            rows.append(astuple(found))
            to_go.append(case.to_go_min)
    return Signs(*np.array(rows, dtype=np.float64).T), np.array(to_go)


def unlikelihood(found: Outlook, to_go: Floats) -> float:
    """Mean of minus the logarithm of the chance that was given to what came."""
    came = np.isfinite(to_go)
    minutes = np.where(came, to_go, 1.0)
    later = np.minimum(minutes * (1.0 + BESIDE) + BESIDE_MIN, 120.0)
    earlier = np.maximum(minutes * (1.0 - BESIDE) - BESIDE_MIN, 1e-3)
    there = found.within(later) - found.within(earlier)
    return -float(np.log(np.maximum(np.where(came, there, 1.0 - found.chance), 1e-12)).mean())


def fit(found: Signs, to_go: Floats) -> Numbers:
    """The numbers under which what came was likeliest."""
    from scipy.optimize import minimize

    def miss(flat: Floats) -> float:
        return unlikelihood(outlook(found, _folded(flat)), to_go) + RIDGE * float(flat @ flat)

    best = minimize(miss, _flat(START), method="BFGS", options={"maxiter": 400})
    return _folded(best.x)


def _flat(numbers: Numbers) -> Floats:
    n = numbers
    spreads = np.log([n.falling_spread, n.drying_spread])
    return np.array([*n.carries, *n.dries, *n.falling, *n.drying, *spreads])


def _folded(flat: Floats) -> Numbers:
    plain = tuple(float(value) for value in flat)
    falling_spread, drying_spread = (float(value) for value in np.exp(flat[17:]))
    return Numbers(plain[:6], plain[6:11], plain[11:14], falling_spread, plain[14:17],
                   drying_spread)


def main() -> None:
    """Print the numbers."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pulls", type=int, default=PULLS, help="systems drawn for each seed")
    parser.add_argument("--seeds", type=int, nargs="+", default=SEEDS)
    args = parser.parse_args()
    found, to_go = seen(case for seed in args.seeds for case in cases(args.pulls, seed))
    numbers = fit(found, to_go)
    print(f"{len(to_go)} pulls, unlikelihood {unlikelihood(outlook(found, numbers), to_go):.4f}")
    print(numbers)


if __name__ == "__main__":
    main()
