"""What a command-line calculation is, and how its inputs are read."""

from __future__ import annotations

import argparse
import csv
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fieldvoice.quantity.amount import amount_si, read_amount
from fieldvoice.quantity.constants import PA_PER_PSI, k_to_f, microns
from fieldvoice.quantity.convert import one_in_si
from fieldvoice.quantity.counted import counted
from fieldvoice.quantity.site import atmosphere_at
from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.vacuum.decay_types import VacuumReading


@dataclass(frozen=True)
class Answer:
    """What a calculation prints: lines for people, plain data for programs."""

    lines: tuple[str, ...]
    data: dict[str, Any]


@dataclass(frozen=True)
class Calculation:
    """One calculation of `work-out`: its name, help, examples, arguments and work."""

    name: str
    about: str
    examples: tuple[str, ...]
    arguments: Callable[[argparse.ArgumentParser], None]
    work: Callable[[argparse.Namespace], Answer]


def atmosphere(args: argparse.Namespace) -> float:
    """Barometric pressure at the altitude given, Pa."""
    return atmosphere_at(altitude_m(args))


def altitude_m(args: argparse.Namespace) -> float:
    """Height above sea level, m."""
    return amount_si("altitude", args.altitude, "length", default_unit="ft")


def pressure_pa(args: argparse.Namespace, name: str, text: str, unit: str | None = None) -> float:
    """Absolute pressure of a text, Pa, in the air at the altitude given; it must say its zero."""
    return amount_si(name, text, "pressure", default_unit=unit, zero_said=True,
                     atmosphere_pa=atmosphere(args))


def read(
    args: argparse.Namespace, name: str, dimension: str, default_unit: str | None = None
) -> float:
    """SI value of the argument `name` (as argparse stores it)."""
    found = maybe(args, name, dimension, default_unit)
    if found is None:
        raise TradeError(f"{name.replace('_', ' ')} is missing: give --{name.replace('_', '-')}")
    return found


def maybe(
    args: argparse.Namespace, name: str, dimension: str, default_unit: str | None = None
) -> float | None:
    """The same for an argument that may be left out."""
    text = getattr(args, name)
    if text is None:
        return None
    called = name.replace("_", " ")
    if dimension == "pressure":
        return pressure_pa(args, called, text, default_unit)
    return amount_si(called, text, dimension, default_unit=default_unit)


def add_readings(parser: argparse.ArgumentParser) -> None:
    """Add readings as MINUTES:PRESSURE arguments, or from a CSV file."""
    parser.add_argument(
        "reading", nargs="*", metavar="MIN:PRESSURE",
        help="minutes and absolute pressure, microns unless a unit is given: 0:250 5:1.2torr",
    )
    parser.add_argument(
        "--file", metavar="CSV", help="two columns, minutes and microns; - reads standard input"
    )
    add_values(parser, (
        ("resolution", "5um", "smallest step of the gauge (default 5um)"),
        ("noise", "1%", "scatter of the gauge, of the reading (default 1%%)"),
    ))


def gauge_errors(args: argparse.Namespace) -> dict[str, Any]:
    """What `add_readings` took about the gauge, as keywords of the verdict and the forecast."""
    given = {}
    resolution = maybe(args, "resolution", "pressure", "um")
    if resolution is not None:
        given["gauge_resolution_pa"] = resolution
    if args.noise is not None:
        given["gauge_noise_fraction"] = amount_si("noise", args.noise, "ratio", default_unit="%")
    return given


def readings(args: argparse.Namespace) -> list[VacuumReading]:
    """The readings given by `add_readings`."""
    pairs: list[tuple[str, str]] = []
    for text in args.reading:
        minutes, colon, pressure = text.partition(":")
        if not colon:
            raise TradeError(f"reading {text!r} has no colon: write MINUTES:PRESSURE, as 5:320um")
        pairs.append((minutes, pressure))
    if args.file is not None:
        pairs += _from_file(args.file)
    return [
        VacuumReading(
            amount_si(f"time of reading {i}", minutes, "time", default_unit="min") / 60.0,
            pressure_pa(args, f"reading {i}", pressure, "um"),
            _last_digit_pa(f"reading {i}", pressure),
        )
        for i, (minutes, pressure) in enumerate(pairs, start=1)
    ]


def _last_digit_pa(name: str, text: str) -> float:
    """What the last digit of a vacuum reading is worth: 0.01 inHg of "29.91inHg"."""
    found = read_amount(name, text, "pressure", default_unit="um")
    exponent = found.value.as_tuple().exponent
    assert isinstance(exponent, int)  # amounts are finite
    return float(10.0 ** min(exponent, 0)) * one_in_si(found.unit)


def _from_file(name: str) -> list[tuple[str, str]]:
    try:
        text = sys.stdin.read() if name == "-" else Path(name).read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise TradeError(f"file {name} cannot be read: {error}") from error
    rows = [row for row in csv.reader(text.splitlines()) if any(cell.strip() for cell in row)]
    if rows and not any(character.isdigit() for character in rows[0][0]):
        rows = rows[1:]  # a heading
    for number, row in enumerate(rows, start=1):
        if len(row) < 2:
            raise TradeError(f"file {name}, reading {number}: two columns are needed, minutes and "
                             "pressure")
        if any(cell.strip() for cell in row[2:]):
            raise TradeError(f"file {name}, reading {number}: {len(row)} columns, where two are "
                             "needed, minutes and pressure; write decimals with a point, as in 4.4")
    return [(row[0], row[1]) for row in rows]


def add_values(parser: argparse.ArgumentParser, options: Iterable[tuple[str, str, str]]) -> None:
    """Add options (name, example value, help); a name ending in ! is required."""
    for name, example, text in options:
        required = name.endswith("!")
        parser.add_argument(
            f"--{name.removesuffix('!')}", required=required, metavar=example, help=text
        )


def um(pressure_pa: float) -> str:
    """Pressure in microns for a line of text."""
    return counted(f"{microns(pressure_pa):,.0f}", "micron")


def gauge(pressure_pa: float, air_pa: float) -> str:
    """Pressure in psig for a line of text."""
    return f"{(pressure_pa - air_pa) / PA_PER_PSI:.1f} psig"


def fahrenheit(temperature_k: float) -> str:
    """Temperature in F for a line of text."""
    return f"{k_to_f(temperature_k):.1f} °F"
