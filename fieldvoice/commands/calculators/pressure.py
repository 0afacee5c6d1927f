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
from fieldvoice.quantity.counted import counted
from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.nitrogen import real_gas, tightness_test
from fieldvoice.trade.refrigerant import refrigerants, saturation

_FORGIVEN = {"significant": tightness_test.FORGIVEN, "no-loss": 0.0}


def _nitrogen_arguments(parser: argparse.ArgumentParser) -> None:
    add_values(parser, (
        ("start!", "450psig", "pressure at the start"),
        ("start-temperature!", "80F", "pipe temperature at the start"),
        ("end-temperature!", "65F", "pipe temperature at the end"),
        ("end", "436psig", "pressure at the end, for a verdict"),
        ("time", "60min", "time between, for a verdict"),
        ("hold", "60min", "hold in force (default 60min)"),
        ("volume", "5L", "system volume, for the smallest leak as mass a year"),
        ("resolution", "1psi", "smallest step of the gauge (default 1psi)"),
        ("thermometer", "1F", "error of each temperature, either way (default 1F)"),
        ("refrigerant", "R-410A", "what the smallest leak is also given as"),
    ))
    parser.add_argument("--criterion", choices=sorted(_FORGIVEN), default="significant",
                        help="what fails: a loss that gauge and thermometer do not bring about in "
                        "99 of 100 tight systems, or any step of the gauge (default significant)")


def _nitrogen(args: argparse.Namespace) -> Answer:
    air = atmosphere(args)
    start = read(args, "start", "pressure")
    first_k = read(args, "start_temperature", "temperature")
    last_k = read(args, "end_temperature", "temperature")
    end = maybe(args, "end", "pressure")
    if end is None:
        if args.time is not None:
            raise TradeError("time is given without the pressure at the end: give --end as well")
        found = real_gas.expected_pressure(start, first_k, last_k)
        return Answer((
            f"expect {gauge(found.ideal_pa, air)} at {fahrenheit(last_k)} by the gas law, "
            f"{gauge(found.real_pa, air)} for nitrogen as it is", f"source: {found.source}",
            tightness_test.CAUTION,
        ), found.to_dict())
    verdict = tightness_test.judge_nitrogen(
        start, first_k, end, last_k, read(args, "time", "time") / 60.0,
        volume_m3=maybe(args, "volume", "volume"), gauge_resolution_pa=_resolution(args),
        hold_minutes=_hold_minutes(args), atmosphere_pa=air, forgiven=_FORGIVEN[args.criterion],
        thermometer_k=_thermometer_k(args), refrigerant=args.refrigerant,
    )
    lines = [verdict.verdict.value.replace("-", " "), verdict.reason, verdict.next_action,
             f"standard uncertainty {verdict.uncertainty_pa / PA_PER_PSI:.2f} psi, of a gauge step "
             f"of {verdict.gauge_resolution_pa / PA_PER_PSI:.3g} psi and temperatures within "
             f"{verdict.thermometer_k * 1.8:.2g} °F"]
    if verdict.smallest_leak is not None:
        lines.append(f"smallest leak that shows 95 times in 100: "
                     f"{verdict.smallest_leak.pa_m3_per_s:.1e} Pa m3/s")
    return Answer((*lines, verdict.caution), verdict.to_dict())


def _thermometer_k(args: argparse.Namespace) -> float:
    error = maybe(args, "thermometer", "temperature difference")
    return tightness_test.THERMOMETER_K if error is None else error


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
    lines = [f"{s.gauge_pa / PA_PER_PSI:.0f} psig, "
             f"{counted(f'{s.minutes:.0f}', 'minute')}: {s.action} ({s.source})"
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
                 "--end 436psig --end-temperature 65F --time 60min",
                 "fieldvoice work-out nitrogen --start 450psig --start-temperature 70F "
                 "--end 447psig --end-temperature 70F --time 60min --volume 2.2L "
                 f"--refrigerant {_EXAMPLE} --criterion no-loss"),
                _nitrogen_arguments, _nitrogen),
    Calculation("stages", "staged pressures of a nitrogen test from the nameplate",
                ("fieldvoice work-out stages --design 450psig",), _stages_arguments, _stages),
    Calculation("saturation", "bubble and dew of a refrigerant",
                (f"fieldvoice work-out saturation {_EXAMPLE} --at 350psig",
                 f"fieldvoice work-out saturation {_EXAMPLE} --temperature 40F"),
                _saturation_arguments, _saturation),
)
