"""How long each calculation takes; a report: `cd tests && python -m by_hand.trade_timings`.

Each is called once to warm up, then many times; the time of the first call stands beside the
median and the slowest of the rest, all in processor time, which other work on the machine does
not lengthen much. The budget is 5 ms a call after the first.
"""

from __future__ import annotations

import math
import statistics
import time
from collections.abc import Callable
from functools import partial

import numpy as np

from fieldvoice.quantity.constants import f_to_k, from_microns, from_psig
from fieldvoice.trade.air import atmosphere, coil
from fieldvoice.trade.charge import charge_trim, target_superheat, tube
from fieldvoice.trade.nitrogen import tightness_test
from fieldvoice.trade.refrigerant import refrigerants, saturation
from fieldvoice.trade.vacuum import conductance, evacuation, leak_rate, water
from fieldvoice.trade.vacuum.decay import VacuumReading, judge_decay
from fieldvoice.trade.vacuum.pumpdown import forecast_pull

BUDGET_MS = 5.0
CALLS = 60


def record(count: int, minutes: float, spoiled: int = 0) -> list[VacuumReading]:
    """A slowly levelling hold of so many readings, some of them spoiled."""
    rng = np.random.default_rng(count)
    times = np.linspace(0.0, minutes, count)
    true = from_microns(1.0) * (250 + 300 * -np.expm1(-times / 5.0) + 3 * times)
    seen = true + (0.01 * true + from_microns(5)) * rng.standard_normal(count)
    seen[5 : 5 + 7 * spoiled : 7] *= 2.0
    return [VacuumReading(float(t), float(p)) for t, p in zip(times, seen, strict=True)]


def pull(count: int) -> list[VacuumReading]:
    """A pull of half an hour that levels off."""
    return [
        VacuumReading(t, from_microns(20_000 * math.exp(-t / 4) + 300))
        for t in (30.0 * k / (count - 1) for k in range(count))
    ]


def calculations() -> dict[str, Callable[[], object]]:
    """What is measured, by name."""
    hose = [conductance.Passage("hose", 0.0064, 1.5)]
    holds = {
        f"decay, {n:,} readings" + (f", {bad} of them spoiled" if bad else ""): (
            partial(judge_decay, record(n, m, bad), volume_m3=0.005, ambient_c=20.0)
        )
        for n, m, bad in ((3, 10, 0), (11, 10, 0), (11, 10, 1), (61, 60, 0), (1000, 60, 0),
                          (1000, 60, 8))
    }
    pulls = {
        f"forecast, {n:,} readings": (
            partial(forecast_pull, pull(n), from_microns(500), ambient_c=20.0)
        )
        for n in (4, 30, 1000)
    }
    fluids = {
        f"saturation {name}": partial(saturation.saturation, name, from_psig(250))
        for name in refrigerants.names()
    }
    warm, mild = f_to_k(80), f_to_k(65)
    return holds | pulls | fluids | {
        "superheat": lambda: saturation.superheat("R-454B", from_psig(110), f_to_k(52)),
        "subcooling": lambda: saturation.subcooling("R-454B", from_psig(350), f_to_k(100)),
        "target superheat": lambda: target_superheat.target_superheat(f_to_k(67), f_to_k(95)),
        "charge trim": lambda: charge_trim.charge_trim("R-32", "3/8", 12.0, covered_m=5.0),
        "air split": lambda: coil.air_split(f_to_k(75), f_to_k(63), f_to_k(55),
                                               supply_wet_k=f_to_k(54), airflow_m3_per_s=0.2),
        "nitrogen verdict": lambda: tightness_test.judge_nitrogen(
            from_psig(450), warm, from_psig(436), mild, 60.0, volume_m3=0.005),
        "nitrogen stages": lambda: tightness_test.staged_pressures(3.1e6),
        "leak rate": lambda: leak_rate.leak_rate(0.005, 66.0, 133.0, 600.0),
        "effective speed": lambda: conductance.effective_speed(2.36e-3, hose, 66.0),
        "cores left in": lambda: evacuation.cores_cost(2.36e-3, hose, 66.0, cores=2),
        "triple evacuation": lambda: evacuation.dilution([200.0, 200.0, 66.0], [1e5, 1e5]),
        "freezing hazard": lambda: evacuation.freezing(200.0, 290.0),
        "water at a pressure": lambda: water.temperature_at_k(66.0),
        "boiling point here": lambda: atmosphere.boiling_point_k(1500.0),
        "line-set volume": lambda: tube.line_set_volume({"3/8": 7.6, "3/4": 7.6}),
    }


def milliseconds(work: Callable[[], object]) -> float:
    """Processor time of one call."""
    began = time.process_time()
    work()
    return 1e3 * (time.process_time() - began)


def main() -> None:
    """Print a table of times in ms, and which medians are over the budget."""
    print(f"{'calculation':40}{'first':>9}{'median':>9}{'slowest':>9}   ms")
    over = []
    for name, work in calculations().items():
        first = milliseconds(work)
        rest = [milliseconds(work) for _ in range(CALLS)]
        median = statistics.median(rest)
        print(f"{name:40}{first:9.2f}{median:9.3f}{max(rest):9.2f}")
        if median > BUDGET_MS:
            over.append(name)
    print(f"over {BUDGET_MS:g} ms: {', '.join(over) or 'none'}")


if __name__ == "__main__":
    main()
