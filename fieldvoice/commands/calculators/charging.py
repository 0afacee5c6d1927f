"""The charging calculations of `work-out`: superheat, subcooling, targets, trim, air split."""

from __future__ import annotations

import argparse

from fieldvoice.commands.calculators.calculation import (
    Answer,
    Calculation,
    add_values,
    atmosphere,
    fahrenheit,
    maybe,
    read,
)
from fieldvoice.quantity.constants import PA_PER_PSI, k_to_f
from fieldvoice.trade.air import coil
from fieldvoice.trade.charge import charge_check, charge_trim, target_superheat
from fieldvoice.trade.charge.charge_check import ChargeCheck
from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.refrigerant import refrigerants, saturation
from fieldvoice.trade.refrigerant.saturation import LineCondition


def _line_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("refrigerant", help=", ".join(refrigerants.names()))
    add_values(parser, (
        ("at!", "118psig", "pressure at the line"), ("line!", "50F", "line temperature"),
        ("target", "10F", "target, for a check"),
    ))


def _superheat_arguments(parser: argparse.ArgumentParser) -> None:
    _line_arguments(parser)
    parser.add_argument("--metering", choices=("orifice", "valve"), default="orifice",
                        help="valve: checked by the range that a valve keeps, without a target "
                        "(default orifice)")


def _superheat(args: argparse.Namespace) -> Answer:
    found = saturation.superheat(
        args.refrigerant, read(args, "at", "pressure"), read(args, "line", "temperature"))
    wanted = maybe(args, "target", "temperature difference")
    if args.metering == "valve":
        if wanted is not None:
            raise TradeError("a valve's superheat has a range, no target: leave --target out")
        return _line(args, found, charge_check.check_valve_superheat(found.difference_f))
    return _line(args, found, None if wanted is None else charge_check.check_superheat(
        found.difference_f, wanted * 1.8))


def _subcooling(args: argparse.Namespace) -> Answer:
    found = saturation.subcooling(
        args.refrigerant, read(args, "at", "pressure"), read(args, "line", "temperature"))
    wanted = maybe(args, "target", "temperature difference")
    return _line(args, found, None if wanted is None else charge_check.check_subcooling(
        found.difference_f, wanted * 1.8))


def _line(args: argparse.Namespace, found: LineCondition, check: ChargeCheck | None) -> Answer:
    gauge = (found.pressure_pa - atmosphere(args)) / PA_PER_PSI
    lines = [f"{found.kind} {found.difference_f:.1f} °F: {found.refrigerant} "
             f"({found.safety_class}) {found.side} {fahrenheit(found.saturation_k)} at "
             f"{gauge:.1f} psig, line {fahrenheit(found.line_k)}"]
    data = found.to_dict()
    if found.note:
        lines.append(found.note)
    if check is not None:
        lines += [check.reason, check.next_action, f"source: {check.source}"]
        data["check"] = check.to_dict()
    return Answer((*lines, f"source: {found.source}"), data)


def _target_arguments(parser: argparse.ArgumentParser) -> None:
    add_values(parser, (("wet-bulb!", "67F", "indoor wet bulb at the return"),
                        ("outdoor!", "95F", "outdoor dry bulb at the condenser")))


def _target(args: argparse.Namespace) -> Answer:
    found = target_superheat.target_superheat(
        read(args, "wet_bulb", "temperature"), read(args, "outdoor", "temperature"))
    return Answer((
        f"target superheat {found.target_f:.0f} °F, within "
        f"{charge_check.SUPERHEAT_BAND_F:.0f} and never below {charge_check.FLOOR_F:.0f}",
        f"rule of thumb {found.formula_f:.1f} °F: {found.formula_source}",
        f"valid for {found.valid}", f"source: {found.source}",
    ), found.to_dict())


def _charge_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("refrigerant", help=", ".join(refrigerants.names()))
    add_values(parser, (
        ("liquid!", "3/8", "liquid line size"), ("length!", "40ft", "line length"),
        ("covered-length", "15ft", "length that the factory charge covers"),
        ("covered-mass", "13.5oz", "or the mass that it covers"),
        ("adder", "0.6oz/ft", "charge for each length, from the equipment's instructions"),
    ))


def _charge(args: argparse.Namespace) -> Answer:
    found = charge_trim.charge_trim(
        args.refrigerant, args.liquid, read(args, "length", "length"),
        covered_m=maybe(args, "covered_length", "length"),
        covered_kg=maybe(args, "covered_mass", "mass"),
        adder_kg_per_m=maybe(args, "adder", "mass per length"),
    )
    verb = "add" if found.change_kg >= 0 else "recover"
    return Answer((
        f"{verb} {abs(found.change_oz):.2f} oz ({abs(found.change_kg) * 1e3:.0f} g)",
        found.reason, found.next_action, f"source: {found.source}",
    ), found.to_dict())


def _air_arguments(parser: argparse.ArgumentParser) -> None:
    add_values(parser, (
        ("return!", "75F", "return dry bulb"), ("return-wet-bulb!", "63F", "return wet bulb"),
        ("supply!", "55F", "supply dry bulb"), ("supply-wet-bulb", "54F", "supply wet bulb"),
        ("airflow", "400cfm", "airflow, for the heat removed"),
    ))


def _air(args: argparse.Namespace) -> Answer:
    found = coil.air_split(
        read(args, "return", "temperature"), read(args, "return_wet_bulb", "temperature"),
        read(args, "supply", "temperature"),
        supply_wet_k=maybe(args, "supply_wet_bulb", "temperature"),
        airflow_m3_per_s=maybe(args, "airflow", "flow"), pressure_pa=atmosphere(args),
    )
    lines = [found.reason,
             f"return {found.returned.relative_humidity:.0%} relative humidity, dew point "
             f"{k_to_f(found.returned.dew_point_k):.1f} °F"]
    if found.sensible_w is not None:
        lines.append(f"sensible {_btu(found.sensible_w)}")
    if found.total_w is not None:
        lines.append(f"total {_btu(found.total_w)}")
    return Answer((*lines, f"source: {found.source}"), found.to_dict())


def _btu(watts: float) -> str:
    return f"{watts / 0.293071:,.0f} Btu/h ({watts / 1e3:.2f} kW)"


_EXAMPLE = refrigerants.names()[0]
CALCULATIONS = (
    Calculation("superheat", "superheat from the dew point at suction pressure",
                (f"fieldvoice work-out superheat {_EXAMPLE} --at 118psig --line 50F --target 10F",
                 f"fieldvoice work-out superheat {_EXAMPLE} --at 118psig --line 50F "
                 "--metering valve"),
                _superheat_arguments, _superheat),
    Calculation("subcooling", "subcooling from the bubble point at liquid pressure",
                (f"fieldvoice work-out subcooling {_EXAMPLE} --at 350psig --line 95F "
                 "--target 10F",),
                _line_arguments, _subcooling),
    Calculation("target-superheat", "target superheat of a fixed orifice",
                ("fieldvoice work-out target-superheat --wet-bulb 67F --outdoor 95F",),
                _target_arguments, _target),
    Calculation("charge", "charge trim for the line set",
                (f"fieldvoice work-out charge {_EXAMPLE} --liquid 3/8 --length 40ft "
                 "--covered-length 15ft --adder 0.6oz/ft",), _charge_arguments, _charge),
    Calculation("air", "temperature split and heat removed on the air side",
                ("fieldvoice work-out air --return 75F --return-wet-bulb 63F --supply 55F "
                 "--airflow 400cfm",), _air_arguments, _air),
)
