"""The water calculations of `work-out`: vapour pressure, boiling points, water as vapour."""

from __future__ import annotations

import argparse
from typing import Any

from fieldvoice.commands.calculators.calculation import (
    Answer,
    Calculation,
    add_values,
    altitude_m,
    fahrenheit,
    maybe,
    um,
)
from fieldvoice.quantity.site import ATMOSPHERE_SOURCE
from fieldvoice.trade.air import atmosphere
from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.vacuum import evacuation, water


def _arguments(parser: argparse.ArgumentParser) -> None:
    add_values(parser, (
        ("at", "500um", "pressure: at what temperature does water boil or ice sublime"),
        ("temperature", "68F", "temperature: what is the vapour pressure"),
        ("mass", "5g", "with --at: volume of this much water as vapour"),
    ))


def _water(args: argparse.Namespace) -> Answer:
    at, warm = maybe(args, "at", "pressure"), maybe(args, "temperature", "temperature")
    if at is None and args.mass is not None:
        raise TradeError("mass needs a pressure too, for the volume as vapour: give --at")
    if at is not None:
        return _at_pressure(args, at, warm)
    return _in_the_open(args) if warm is None else _at_temperature(warm)


def _in_the_open(args: argparse.Namespace) -> Answer:
    metres = altitude_m(args)
    boiling = atmosphere.boiling_point_k(metres)
    return Answer((f"water boils in the open here at {fahrenheit(boiling)}",), {
        "boiling_k": boiling, "altitude_m": metres,
        "source": f"{water.LIQUID_SOURCE}; {ATMOSPHERE_SOURCE}",
    })


def _named(phase: str) -> str:
    return "ice" if phase == "ice" else "liquid water"


def _at_temperature(warm: float) -> Answer:
    pressure, phase = water.vapour_pressure_pa(warm), water.phase_at(warm)
    return Answer((f"{um(pressure)} over {_named(phase)} at {fahrenheit(warm)} (IAPWS)",), {
        "pressure_pa": pressure, "phase": phase, "temperature_k": warm,
        "source": water.source_of(phase),
    })


def _at_pressure(args: argparse.Namespace, at: float, warm: float | None) -> Answer:
    kelvin, phase = water.temperature_at_k(at), water.phase_for(at)
    lines = [f"{um(at)} is the vapour pressure of {_named(phase)} at {fahrenheit(kelvin)} (IAPWS)"]
    data: dict[str, Any] = {"pressure_pa": at, "phase": phase, "temperature_k": kelvin,
                            "source": water.source_of(phase)}
    mass = maybe(args, "mass", "mass")
    if mass is not None:
        load = evacuation.water_load(mass, at, 293.15 if warm is None else warm)
        lines.append(f"{mass * 1e3:g} g of water fills {load.vapour_m3 * 1e3:,.1f} L at "
                     f"{fahrenheit(load.temperature_k)} and that pressure")
        data["load"] = load.to_dict()
    if warm is not None:
        freezing = evacuation.freezing(at, warm)
        lines += [freezing.reason, freezing.next_action]
        data["freezing"] = freezing.to_dict()
    return Answer(tuple(lines), data)


CALCULATIONS = (
    Calculation("water", "vapour pressure of water and ice, boiling points, water as vapour",
                ("fieldvoice work-out water --at 500um", "fieldvoice work-out water --altitude "
                 "5000ft", "fieldvoice work-out water --at 500um --mass 5g --temperature 60F"),
                _arguments, _water),
)
