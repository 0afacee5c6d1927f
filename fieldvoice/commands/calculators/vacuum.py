"""The vacuum calculations of `work-out`: decay, pull, leak rate, speed, sweeps, volume."""

from __future__ import annotations

import argparse
from dataclasses import asdict

from fieldvoice.commands.calculators.calculation import (
    Answer,
    Calculation,
    add_readings,
    add_values,
    gauge_errors,
    maybe,
    pressure_pa,
    read,
    readings,
    um,
)
from fieldvoice.quantity.amount import amount_si
from fieldvoice.quantity.constants import KELVIN_AT_0_C, M3_PER_S_PER_CFM, microns
from fieldvoice.quantity.counted import counted
from fieldvoice.quantity.shares import percent
from fieldvoice.trade.charge import tube
from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.vacuum import evacuation
from fieldvoice.trade.vacuum.conductance import Passage, effective_speed
from fieldvoice.trade.vacuum.decay import COMMON_PRACTICE, LIMITS, judge_decay
from fieldvoice.trade.vacuum.decay_types import DecayLimits
from fieldvoice.trade.vacuum.leak_rate import leak_rate
from fieldvoice.trade.vacuum.pumpdown import forecast_pull


def _decay_arguments(parser: argparse.ArgumentParser) -> None:
    add_readings(parser)
    parser.add_argument("--criterion", choices=sorted(LIMITS), default=COMMON_PRACTICE.name,
                        metavar="NAME", help="criterion in force, one of those that `work-out "
                        f"criteria` lists (default {COMMON_PRACTICE.name!r})")
    add_values(parser, (
        ("limit", "500um", "a limit of your own instead, with --hold"),
        ("hold", "10min", "length of the hold for your own limit"),
        ("volume", "5L", "system volume, for the leak rate"),
        ("ambient", "68F", "temperature of the pipe"),
    ))


def _decay(args: argparse.Namespace) -> Answer:
    limits = LIMITS[args.criterion]
    if (args.limit is None) != (args.hold is None):
        raise TradeError("a limit of your own needs both --limit and --hold")
    if args.limit is not None:
        level, hold = read(args, "limit", "pressure"), read(args, "hold", "time") / 60.0
        name = f"{um(level)}, {counted(f'{hold:g}', 'minute')}"
        limits = DecayLimits(name, level, hold, "entered by the user")
    ambient = maybe(args, "ambient", "temperature")
    found = judge_decay(
        readings(args), limits=limits, volume_m3=maybe(args, "volume", "volume"),
        ambient_c=None if ambient is None else ambient - KELVIN_AT_0_C, **gauge_errors(args),
    )
    lines = [f"{found.verdict.value} ({percent(found.confidence)} likely)"
             if found.verdict.value != "not-yet-clear" else "not yet clear",
             found.reason, found.next_action]
    if found.leak_rate_pa_m3_per_s is not None:
        lines.append(f"leak rate {found.leak_rate_pa_m3_per_s:.2e} Pa m3/s "
                     f"= {found.leak_rate_micron_l_per_s:.3g} micron litres a second")
    lines.append(f"criterion: {limits.name} ({limits.source})")
    return Answer(tuple(lines), found.to_dict())


def _pull_arguments(parser: argparse.ArgumentParser) -> None:
    add_readings(parser)
    add_values(parser, (
        ("target!", "500um", "pressure to reach"),
        ("ambient", "68F", "temperature of the pipe"),
        ("blank-off", "30um", "what pump and gauge reach alone"),
    ))


def _pull(args: argparse.Namespace) -> Answer:
    ambient = maybe(args, "ambient", "temperature")
    found = forecast_pull(
        readings(args), read(args, "target", "pressure"),
        ambient_c=None if ambient is None else ambient - KELVIN_AT_0_C,
        blank_off_pa=maybe(args, "blank_off", "pressure"), **gauge_errors(args),
    )
    return Answer((found.reason, found.next_action, f"source: {found.source}"), found.to_dict())


def _leak_arguments(parser: argparse.ArgumentParser) -> None:
    add_values(parser, (
        ("volume!", "5L", "system volume"), ("first!", "300um", "first pressure"),
        ("last!", "500um", "last pressure"), ("time!", "10min", "time between them"),
    ))


def _leak(args: argparse.Namespace) -> Answer:
    found = leak_rate(read(args, "volume", "volume"), read(args, "first", "pressure"),
                      read(args, "last", "pressure"), read(args, "time", "time"))
    return Answer((
        f"{found.pa_m3_per_s:.3e} Pa m3/s = {found.mbar_l_per_s:.3e} mbar L/s = "
        f"{found.micron_l_per_s:.3g} micron litres a second",
        f"source: {found.source}",
    ), found.to_dict())


def _speed_arguments(parser: argparse.ArgumentParser) -> None:
    add_values(parser, (
        ("pump!", "5cfm", "pump speed"), ("bore!", "0.375in", "inside diameter of the hose"),
        ("length!", "5ft", "length of the hose"), ("at!", "500um", "pressure at the system"),
    ))
    parser.add_argument("--cores", type=int, default=0, metavar="N",
                        help="valve cores left in on the way (default 0)")


def _speed(args: argparse.Namespace) -> Answer:
    hose = Passage("hose", read(args, "bore", "length"), read(args, "length", "length"))
    pump, at = read(args, "pump", "flow"), read(args, "at", "pressure")
    found = effective_speed(pump, [hose], at)
    lines = [f"{_cfm(found.speed_m3_per_s)} at the system of {_cfm(pump)} at the pump, "
             f"at {um(at)}"]
    data = found.to_dict()
    if args.cores:
        cost = evacuation.cores_cost(pump, [hose], at, args.cores)
        lines.append(f"with {args.cores} core(s) left in {_cfm(cost.with_cores.speed_m3_per_s)}: "
                     f"{cost.times_longer:.1f} times longer (core size is an estimate)")
        data = cost.to_dict()
    lines.append(f"source: {found.source}")
    return Answer(tuple(lines), data)


def _cfm(speed_m3_per_s: float) -> str:
    return f"{speed_m3_per_s / M3_PER_S_PER_CFM:.2f} cfm"


def _sweep_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("pull", nargs="+", metavar="PRESSURE", help="pressure of each pull")
    parser.add_argument("--break", dest="breaks", action="append", default=[], metavar="PRESSURE",
                        help="nitrogen pressure between two pulls; once for each break")


def _sweep(args: argparse.Namespace) -> Answer:
    pulls = [pressure_pa(args, "pull", text, "um") for text in args.pull]
    breaks = [pressure_pa(args, "break", text) for text in args.breaks]
    found = evacuation.dilution(pulls, breaks)
    parts = float(f"{1.0 / found.share_left:.2g}")  # no gauge gives more than two digits of it
    return Answer((f"about one part in {parts:,.0f} of the first air is left, where each break "
                   "mixes with all that is there", f"source: {found.source}"), found.to_dict())


def _volume_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("tube", nargs="+", metavar="SIZE:LENGTH",
                        help=f"tube by outside diameter ({', '.join(tube.sizes())}): 3/8:25ft")
    parser.add_argument("--other", action="append", default=[], metavar="VOLUME",
                        help="volume of another part, such as a coil; may be repeated")


def _volume(args: argparse.Namespace) -> Answer:
    lengths: dict[str, float] = {}
    for text in args.tube:
        size, colon, length = text.partition(":")
        if not colon:
            raise TradeError(f"tube {text!r} has no colon: write SIZE:LENGTH, as 3/8:25ft")
        lengths[size] = lengths.get(size, 0.0) + amount_si(f"{size} length", length, "length")
    others = {f"part {i}": amount_si(f"part {i}", text, "volume")
              for i, text in enumerate(args.other, start=1)}
    found = tube.line_set_volume(lengths, others)
    lines = [f"{found.volume_m3 * 1e3:.3f} L = {found.volume_m3 / 0.0254**3:.1f} in3"]
    lines += [f"  {name}: {part * 1e3:.3f} L" for name, part in found.parts_m3]
    return Answer((*lines, f"source: {found.source}"), found.to_dict())


def _limits_arguments(parser: argparse.ArgumentParser) -> None:
    """There is nothing to give."""


def _limits(_: argparse.Namespace) -> Answer:
    lines = tuple(f"{name}: not above {microns(x.pass_below_pa):.0f} microns for "
                  f"{x.hold_minutes:g} minutes ({x.source})" for name, x in LIMITS.items())
    return Answer(lines, {
        "criteria": [asdict(x) for x in LIMITS.values()],
        "source": "the source of each criterion stands with it",
    })


CALCULATIONS = (
    Calculation("decay", "judge a standing vacuum: tight, wet, leaking, or not yet clear",
                ("fieldvoice work-out decay 0:250 2:262 5:270 8:276 10:280um --ambient 68F",
                 "fieldvoice work-out decay --file readings.csv --volume 5L --json"),
                _decay_arguments, _decay),
    Calculation("pull", "forecast when a pull reaches its target, or why it has stalled",
                ("fieldvoice work-out pull 2:8000 3:5200 4:3400 5:2300 6:1600um --target 500um",),
                _pull_arguments, _pull),
    Calculation("leak-rate", "leak rate from a steady rise of pressure in a known volume",
                ("fieldvoice work-out leak-rate --volume 5L --first 500um --last 1000um "
                 "--time 10min",), _leak_arguments, _leak),
    Calculation("speed", "pumping speed left at the system through a hose, and what cores cost",
                ("fieldvoice work-out speed --pump 5cfm --bore 0.25in --length 5ft --at 500um "
                 "--cores 1",), _speed_arguments, _speed),
    Calculation("sweep", "what is left of the air after pulls with nitrogen breaks",
                ("fieldvoice work-out sweep 1500um 1500um 500um --break 0psig --break 0psig",),
                _sweep_arguments, _sweep),
    Calculation("volume", "inside volume of a line set",
                ("fieldvoice work-out volume 3/8:25ft 3/4:25ft --other 1.5L",),
                _volume_arguments, _volume),
    Calculation("criteria", "list the standing-vacuum criteria known, with their sources",
                ("fieldvoice work-out criteria",), _limits_arguments, _limits),
)
