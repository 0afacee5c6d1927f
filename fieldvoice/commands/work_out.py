"""`fieldvoice work-out`: every calculation of the trade from the command line."""

from __future__ import annotations

import argparse
import math
import sys
from typing import Any

from fieldvoice.commands.calculators.calculation import Calculation
from fieldvoice.commands.calculators.charging import CALCULATIONS as CHARGE
from fieldvoice.commands.calculators.pressure import CALCULATIONS as PRESSURE
from fieldvoice.commands.calculators.vacuum import CALCULATIONS as VACUUM
from fieldvoice.commands.calculators.water import CALCULATIONS as WATER
from fieldvoice.commands.rim.telling import tell, tell_json
from fieldvoice.quantity.errors import ReadingError
from fieldvoice.trade.errors import TradeError

BAD_INPUT = 2
_WRITTEN = (str, int, list)  # what argparse stores of a line; anything else is not an input
CALCULATIONS: tuple[Calculation, ...] = (*VACUUM, *WATER, *PRESSURE, *CHARGE)
ABOUT = """\
Calculate one figure of the trade; it needs no job and keeps none.
Values carry their unit: 450psig, 65F, 25ft, 500um, 5cfm.
Pressures say their zero (psig or psia, barg or bara); microns, torr and Pa are absolute.
Results inform; local codes, the equipment's instructions and a licence govern."""


def add_parser(subparsers: Any) -> None:
    """Add `work-out` and its calculations to argparse's sub-commands."""
    parser = subparsers.add_parser(
        "work-out", help="calculate one figure, such as a charge", description=ABOUT,
        epilog="example:\n  fieldvoice work-out decay 0:250 5:270 10:280um\n"
               "  fieldvoice work-out CALCULATION --help",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    choices = parser.add_subparsers(
        dest="calculation", metavar="CALCULATION", title="calculations", required=True
    )
    for calculation in CALCULATIONS:
        _add(choices, calculation)


def run(args: argparse.Namespace) -> int:
    """Work it out and print it; returns 0, or 2 with the reason on stderr for bad input."""
    calculation = next(c for c in CALCULATIONS if c.name == args.calculation)
    try:
        answer = calculation.work(args)
    except (TradeError, ReadingError) as error:
        tell(f"fieldvoice work-out {calculation.name}: {error}", file=sys.stderr)
        return BAD_INPUT
    if args.json:
        found = {"calculation": calculation.name, "entered": _entered(args), **answer.data}
        tell_json(_plain(found))
    else:
        tell("\n".join(answer.lines))
    return 0


def _add(choices: Any, calculation: Calculation) -> None:
    parser = choices.add_parser(
        calculation.name, help=calculation.about, description=calculation.about,
        epilog="example:\n" + "\n".join(f"  {line}" for line in calculation.examples),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    calculation.arguments(parser)
    parser.add_argument(
        "--altitude", metavar="LENGTH", default="0ft",
        help="height above sea level, for gauge pressures (default 0ft)",
    )
    parser.add_argument(
        "--json", action="store_true",
        help="one JSON object: what was entered, the source, and results whose names end in "
        "their unit (_pa, _k, _m3, _kg, minutes, _c, _f)",
    )


def _entered(args: argparse.Namespace) -> dict[str, Any]:
    """What was given on the command line, as written and by argument name, without the rest."""
    given = vars(args)
    return {
        name: given[name] for name in sorted(given)
        if name not in ("command", "calculation", "json") and isinstance(given[name], _WRITTEN)
        and given[name] not in ("", [])
    }


def _plain(value: Any) -> Any:
    """Make values JSON can hold: infinite or missing numbers become null."""
    if isinstance(value, dict):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value
