"""Measure the advice of an unclear decay verdict: does waiting as long as it says settle the case?

`python -m fieldvoice.trade.studies.advice_study` prints it; --json makes advice_study.json
beside this file. Systems are those of decay_study; an unclear ten-minute hold goes on for the
minutes advised, read each minute, and is judged again from all of its readings.
"""

from __future__ import annotations

import argparse
import json
import math
from collections import Counter
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from fieldvoice.quantity.constants import KELVIN_AT_0_C
from fieldvoice.trade.studies.decay_simulator import Floats, gauge, stand
from fieldvoice.trade.studies.decay_study import isolated_systems, truths
from fieldvoice.trade.vacuum.decay import (
    COMMON_PRACTICE,
    DecayVerdict,
    VacuumReading,
    Verdict,
    judge_decay,
)

LONGEST_MIN = 250  # two advices of the longest kind after the hold


@dataclass(frozen=True)
class Advice:
    """Of holds unclear after ten minutes: shares settled by the first and second advice."""

    systems: int
    seed: int
    unclear: int
    settled: float  # by waiting as first advised
    right_when_settled: float
    settled_by_second: float  # by following a second advice too, where the first did not settle it
    right_by_second: float
    by_minutes_advised: dict[str, tuple[int, float]]  # first advice: how many, share settled
    tight_and_leaking_confused: int  # among all those settled in the end

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return asdict(self)


def study(count: int, seed: int) -> Advice:
    """Follow the advice in every unclear case of `count` simulated holds (two advices at most)."""
    systems, state = isolated_systems(count, seed)
    held = stand(systems, state, COMMON_PRACTICE.hold_minutes)
    seen = gauge(stand(systems, state, LONGEST_MIN).true_pa, seed + 3)
    found = []
    for index, truth in enumerate(truths(held, COMMON_PRACTICE.pass_below_pa)):
        ambient = float(systems.ambient_k[index]) - KELVIN_AT_0_C
        steps = list(_follow(seen[:, index], ambient))
        if len(steps) > 1:
            found.append((truth, steps))
    return _summary(count, seed, found)


def _follow(curve: Floats, ambient_c: float) -> list[DecayVerdict]:
    """Verdicts after the hold, after the first advice and after the second, until one is given."""
    last, verdicts = int(COMMON_PRACTICE.hold_minutes), []
    for _ in range(3):
        readings = [VacuumReading(float(m), float(p)) for m, p in enumerate(curve[: last + 1])]
        verdicts.append(judge_decay(readings, ambient_c=ambient_c))
        if verdicts[-1].verdict is not Verdict.NOT_YET_CLEAR:
            break
        last += max(math.ceil(verdicts[-1].minutes_more or 0.0), 1)
    return verdicts


def _summary(count: int, seed: int, found: list[tuple[Verdict, list[DecayVerdict]]]) -> Advice:
    def settled(place: int) -> list[tuple[Verdict, Verdict]]:
        ends = [(truth, steps[min(place, len(steps) - 1)].verdict) for truth, steps in found]
        return [(truth, said) for truth, said in ends if said is not Verdict.NOT_YET_CLEAR]

    first, second = settled(1), settled(2)
    advised = Counter(f"{steps[0].minutes_more:g}" for _, steps in found)
    useful = Counter(
        f"{steps[0].minutes_more:g}" for _, steps in found
        if steps[1].verdict is not Verdict.NOT_YET_CLEAR
    )
    confused = sum({truth, said} == {Verdict.TIGHT, Verdict.LEAKING} for truth, said in second)
    total = max(len(found), 1)
    return Advice(
        count, seed, len(found), len(first) / total, _right(first), len(second) / total,
        _right(second),
        {m: (n, useful[m] / n) for m, n in sorted(advised.items(), key=lambda p: float(p[0]))},
        confused,
    )


def _right(given: list[tuple[Verdict, Verdict]]) -> float:
    return float(np.mean([truth is said for truth, said in given])) if given else float("nan")


def main() -> None:
    """Print how far the advice can be trusted."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--systems", type=int, default=3000)
    parser.add_argument("--seed", type=int, default=4187)
    parser.add_argument("--json", action="store_true")
    args = parser.parse_args()
    result = study(args.systems, args.seed).to_dict()
    if args.json:
        print(json.dumps(result, indent=1))
        return
    for name, value in result.items():
        print(f"{name.replace('_', ' ')}: {value}")


if __name__ == "__main__":
    main()
