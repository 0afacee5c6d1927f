"""The pressure calculations of `work-out`: nitrogen test and its stages, saturation."""

from __future__ import annotations

import argparse
from dataclasses import asdict

from fieldvoice.commands.calculators.calculation import (
    Answer,
    Calculation,
    add_values,
    atmosphere,
    fahrenheit,
    gauge,
    maybe,
    read,
)
from fieldvoice.quantity.amount import step_si
from fieldvoice.quantity.constants import PA_PER_PSI
from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.nitrogen import tightness_test
from fieldvoice.trade.refrigerant import refrigerants, saturation


def _nitrogen_arguments(parser: argparse.ArgumentParser) -> None:
    add_values(parser, (
        ("start!", "450psig", "pressure at the start"),
        ("start-temperature!", "80F", "pipe temperature at the start"),
        ("end-temperature!", "65F", "pipe temperature at the end"),
        ("end", "436psig", "pressure at the end, for a verdict"),
        ("time", "60min", "time between, for a verdict"),
        ("hold", "60min", "hold in force (default 60min)"),
        ("volume", "5L", "system volume, for the smallest leak seen"),
        ("resolution", "1psi", "smallest step of the gauge (default 1psi)"),
    ))


def _nitrogen(args: argparse.Namespace) -> Answer:
    air = atmosphere(args)
    start = read(args, "start", "pressure")
    first_k = read(args, "start_temperature", "temperature")
    last_k = read(args, "end_temperature", "temperature")
    end = maybe(args, "end", "pressure")
    if end is None:
        if args.time is not None:
            raise TradeError("time is given without the pressure at the end: give --end as well")
        found = tightness_test.expected_pressure(start, first_k, last_k)
        return Answer((
            f"expect {gauge(found.ideal_pa, air)} at {fahrenheit(last_k)} by the gas law, "
            f"{gauge(found.real_pa, air)} for nitrogen as it is", f"source: {found.source}",
            tightness_test.CAUTION,
        ), found.to_dict())
    verdict = tightness_test.judge_nitrogen(
        start, first_k, end, last_k, read(args, "time", "time") / 60.0,
        volume_m3=maybe(args, "volume", "volume"), gauge_resolution_pa=_resolution(args),
        hold_minutes=_hold_minutes(args), atmosphere_pa=air,
    )
    lines = [verdict.verdict.value.replace("-", " "), verdict.reason, verdict.next_action,
             f"smallest loss this hold could show: "
             f"{verdict.smallest_leak_pa_per_hour / PA_PER_PSI:.2f} psi an hour"]
    if verdict.smallest_leak_pa_m3_per_s is not None:
        lines[-1] += f" = {verdict.smallest_leak_pa_m3_per_s:.1e} Pa m3/s"
    return Answer((*lines, verdict.caution), verdict.to_dict())


def _hold_minutes(args: argparse.Namespace) -> float:
    hold = maybe(args, "hold", "time")
    return 60.0 if hold is None else hold / 60.0


def _resolution(args: argparse.Namespace) -> float:
    return step_si("resolution", args.resolution or "1psi", "pressure", default_unit="psi")


def _stages_arguments(parser: argparse.ArgumentParser) -> None:
    add_values(parser, (("design!", "450psig", "lowest design pressure on the nameplates"),))


def _stages(args: argparse.Namespace) -> Answer:
    air = atmosphere(args)
    design = read(args, "design", "pressure") - air
    stages = tightness_test.staged_pressures(design)
    lines = [f"{s.gauge_pa / PA_PER_PSI:.0f} psig, {s.minutes:.0f} minutes: {s.action} ({s.source})"
             for s in stages]
    return Answer((*lines, tightness_test.CAUTION), {
        "design_gauge_pa": design, "stages": [asdict(s) for s in stages],
        "source": "the source of each stage stands with it",
    })


def _saturation_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("refrigerant", help=", ".join(refrigerants.names()))
    add_values(parser, (("at", "118psig", "pressure"), ("temperature", "40F", "temperature")))


def _saturation(args: argparse.Namespace) -> Answer:
    air = atmosphere(args)
    fluid = refrigerants.refrigerant(args.refrigerant)
    at, warm = maybe(args, "at", "pressure"), maybe(args, "temperature", "temperature")
    if (at is None) == (warm is None):
        raise TradeError("saturation needs one of --at (pressure) and --temperature")
    if at is not None:
        found = saturation.saturation(fluid.name, at)
        return Answer((
            f"{fluid.name} at {gauge(at, air)}: bubble {fahrenheit(found.bubble_k)}, dew "
            f"{fahrenheit(found.dew_k)}, glide {found.glide_k * 1.8:.1f} °F",
            fluid.caution, f"source: {found.source}",
        ), found.to_dict())
    assert warm is not None
    bubble = saturation.bubble_pressure_pa(fluid.name, warm)
    dew = saturation.dew_pressure_pa(fluid.name, warm)
    return Answer((
        f"{fluid.name} at {fahrenheit(warm)}: bubble {gauge(bubble, air)}, dew {gauge(dew, air)}",
        fluid.caution, f"source: {saturation.source()}",
    ), {**asdict(fluid), "temperature_k": warm, "bubble_pa": bubble, "dew_pa": dew,
        "source": saturation.source()})


_EXAMPLE = refrigerants.names()[0]
CALCULATIONS = (
    Calculation("nitrogen", "pressure to expect at a new temperature, and the verdict of a hold",
                ("fieldvoice work-out nitrogen --start 450psig --start-temperature 80F "
                 "--end-temperature 65F",
                 "fieldvoice work-out nitrogen --start 450psig --start-temperature 80F "
                 "--end 436psig --end-temperature 65F --time 60min"),
                _nitrogen_arguments, _nitrogen),
    Calculation("stages", "staged pressures of a nitrogen test from the nameplate",
                ("fieldvoice work-out stages --design 450psig",), _stages_arguments, _stages),
    Calculation("saturation", "bubble and dew of a refrigerant",
                (f"fieldvoice work-out saturation {_EXAMPLE} --at 350psig",
                 f"fieldvoice work-out saturation {_EXAMPLE} --temperature 40F"),
                _saturation_arguments, _saturation),
)
