"""Measure the decay verdict on simulated systems of known cause, before and after one extension.

`python -m fieldvoice.trade.studies.decay_study` prints counts of truth by verdict for each way of
reading a hold; with --json it makes the published decay_study.json beside this file. The systems
are those of field_simulator.py, which shares nothing with the verdict. Only systems that reached
their target in 45 minutes are held; most of those are tight, as in the field, so read the rows one
by one. A hold that is not yet clear goes on once for as long as the verdict says, and is judged
again. Priors and threshold of the verdict were settled on seeds 501 and 502; the published seed
was drawn after that, once, and stands as it came out. Any other --seed checks it anew.
"""

from __future__ import annotations

import argparse
import json
import math
from collections import Counter
from dataclasses import asdict, dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from fieldvoice.quantity.constants import KELVIN_AT_0_C
from fieldvoice.trade.studies import field_simulator as field
from fieldvoice.trade.studies.field_systems import (
    MICRON_PA,
    Floats,
    Systems,
    choose,
    draw,
    read_gauge,
)
from fieldvoice.trade.vacuum.decay import (
    COMMON_PRACTICE,
    DecayVerdict,
    VacuumReading,
    Verdict,
    judge_decay,
)

PULL_MINUTES = 45.0  # longer pulls are given up and never come to a hold
LONGEST_MIN = 130  # the hold and the longest extension
HOLD_MIN = int(COMMON_PRACTICE.hold_minutes)
EXTENSION_READS = 6  # about so many readings are taken in an extension
# Bounds of the told probabilities; one third each is told where there was no hold to judge.
TOLD_FROM = (0.35, 0.6, 0.75, 0.85, 0.95, 0.99, 1.01)
KINDS = (Verdict.TIGHT, Verdict.WET, Verdict.LEAKING)

Pair = tuple[Verdict, Verdict]  # truth, verdict


@dataclass(frozen=True)
class Plan:
    """How a hold is read: at which minutes, and whether the temperature of the pipe is known."""

    minutes: tuple[int, ...]
    ambient_known: bool = True


PLANS = {
    "each minute": Plan(tuple(range(HOLD_MIN + 1))),
    "minutes 0, 2, 5, 10": Plan((0, 2, 5, 10)),
    "minutes 0, 5, 10": Plan((0, 5, 10)),
    "minutes 0, 2, 5, 10, pipe temperature not known": Plan((0, 2, 5, 10), ambient_known=False),
}


@dataclass(frozen=True)
class Matrix:
    """Counts of truth by verdict, and the shares they come to."""

    counts: dict[str, dict[str, int]]
    wrong: float  # a verdict was given, and it is not the truth
    tight_and_leaking_confused: float
    called_tight_falsely: float
    unclear: float
    wet_right: float  # of the wet; unclear counts as not right
    leaking_right: float

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return asdict(self)


@dataclass(frozen=True)
class Told:
    """Of holds whose likeliest cause was told with a probability in one range: was it true?"""

    holds: int
    told: float  # mean probability of the likeliest cause
    true: float  # share of these holds in which it was the cause


@dataclass(frozen=True)
class Outcome:
    """One plan of reading: after the hold, and after one extension of what was not clear."""

    systems: int
    after_hold: Matrix
    after_extension: Matrix
    extended: int
    median_extension_min: float
    reliability: tuple[Told, ...]  # of the probabilities after the hold, whatever the verdict


@dataclass(frozen=True)
class Holds:
    """Simulated holds: what the gauge shows each minute (minutes, systems), and the truth."""

    systems: Systems
    shown_pa: Floats
    truth: tuple[Verdict, ...]


def simulate(count: int, seed: int) -> Holds:
    """Holds of those of `count` systems that reached their target in time."""
    systems, rng = draw(count, seed), np.random.default_rng(seed + 1)
    target = rng.uniform(150.0, 400.0, count) * MICRON_PA
    pulled = field.pull(systems, target, rng.uniform(300.0, 1800.0, count), PULL_MINUTES)
    isolated = pulled.isolated
    where = ~np.isnan(pulled.arrived_s) & (isolated.at_gauge_pa <= target)
    systems = choose(systems, where)
    held = field.stand(systems, field.choose_state(isolated, where), LONGEST_MIN)
    causes = field.causes(held, HOLD_MIN, COMMON_PRACTICE.pass_below_pa)
    shown = read_gauge(systems, held.at_gauge_pa, seed + 2)
    return Holds(systems, shown, tuple(Verdict(str(cause)) for cause in causes))


def study(holds: Holds, plan: Plan) -> Outcome:
    """Judge all holds by a plan of readings, and those not yet clear once more."""
    first: Counter[Pair] = Counter()
    second: Counter[Pair] = Counter()
    more: list[float] = []
    told: list[tuple[float, bool]] = []
    for place, truth in enumerate(holds.truth):
        found, then = _follow(holds, place, plan)
        first[truth, found.verdict] += 1
        second[truth, then.verdict] += 1
        more += [] if then is found else [found.minutes_more or 0.0]
        likeliest, chance = max(found.chances, key=lambda pair: pair[1])
        told.append((chance, likeliest is truth))
    middle = float(np.median(more)) if more else 0.0
    return Outcome(len(holds.truth), _matrix(first), _matrix(second), len(more), middle,
                   _reliability(told))


def _follow(holds: Holds, place: int, plan: Plan) -> tuple[DecayVerdict, DecayVerdict]:
    """Verdict after the hold, and after the minutes it asked for (the same when it was clear)."""
    ambient = float(holds.systems.ambient_k[place]) - KELVIN_AT_0_C
    curve, minutes = holds.shown_pa[:, place], list(plan.minutes)

    def judged() -> DecayVerdict:
        return judge_decay(
            [VacuumReading(float(m), float(curve[m])) for m in minutes],
            ambient_c=ambient if plan.ambient_known else None,
        )

    found = judged()
    if found.verdict is not Verdict.NOT_YET_CLEAR:
        return found, found
    last = minutes[-1] + max(math.ceil(found.minutes_more or 0.0), 1)
    gap = max(1, round((last - minutes[-1]) / EXTENSION_READS))
    minutes += [*range(minutes[-1] + gap, last, gap), last]
    return found, judged()


def _reliability(told: list[tuple[float, bool]]) -> tuple[Told, ...]:
    found = []
    for low, high in pairwise(TOLD_FROM):
        within = [(chance, right) for chance, right in told if low <= chance < high]
        if within:
            chances, rights = zip(*within, strict=True)
            found.append(Told(len(within), float(np.mean(chances)), float(np.mean(rights))))
    return tuple(found)


def _matrix(counts: Counter[Pair]) -> Matrix:
    total = sum(counts.values())
    unclear = sum(n for (_, said), n in counts.items() if said is Verdict.NOT_YET_CLEAR)
    right = sum(n for (truth, said), n in counts.items() if truth is said)
    tight, leaking = Verdict.TIGHT, Verdict.LEAKING
    confused = counts[tight, leaking] + counts[leaking, tight]
    falsely = sum(n for (truth, said), n in counts.items() if said is tight and truth is not tight)
    table = {truth.value: {said.value: counts[truth, said] for said in Verdict} for truth in KINDS}

    def rightly(truth: Verdict) -> float:
        return counts[truth, truth] / max(sum(table[truth.value].values()), 1)

    return Matrix(table, (total - unclear - right) / total, confused / total, falsely / total,
                  unclear / total, rightly(Verdict.WET), rightly(leaking))


def _print(name: str, found: Outcome) -> None:
    print(f"\n{name}: {found.systems} systems; {found.extended} extended, "
          f"by {found.median_extension_min:g} minutes in the median")
    for when, matrix in (("after the hold", found.after_hold),
                         ("after one extension", found.after_extension)):
        print(f"  {when}".ljust(24) + "".join(v.value.rjust(15) for v in Verdict))
        for truth, row in matrix.counts.items():
            print(f"    truth {truth}".ljust(24) + "".join(str(n).rjust(15) for n in row.values()))
        shares = {k: v for k, v in matrix.to_dict().items() if k != "counts"}
        print("    " + "; ".join(f"{k.replace('_', ' ')} {v:.2%}" for k, v in shares.items()))
    print("  told/true after the hold: " + ", ".join(
        f"{row.told:.0%}/{row.true:.0%} of {row.holds}" for row in found.reliability))


def main() -> None:
    """Print the matrices of every plan of reading, or write them as JSON."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--systems", type=int, default=10_000, help="drawn; about 6 in 10 are held")
    parser.add_argument("--seed", type=int, default=6203)
    parser.add_argument("--json", action="store_true")
    args = parser.parse_args()
    holds = simulate(args.systems, args.seed)
    outcomes = {name: study(holds, plan) for name, plan in PLANS.items()}
    if args.json:
        plain = {name: asdict(found) for name, found in outcomes.items()}
        print(json.dumps({"seed": args.seed, "plans": plain}, indent=1))
        return
    for name, found in outcomes.items():
        _print(name, found)


if __name__ == "__main__":
    main()
