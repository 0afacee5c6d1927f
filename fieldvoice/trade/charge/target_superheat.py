"""The target superheat of a fixed orifice, by the printed table of a published guide."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from typing import Any

from fieldvoice.quantity.constants import k_to_f
from fieldvoice.trade.errors import TradeError, require_between

# The table is that of the Lennox 14ACX manual p. 26; Carrier 38VTA Table 4 is within 2 F of it.
SOURCE = ("published installation guide, superheat F by outdoor dry bulb and indoor wet bulb; "
          "the equipment's own chart governs")
FORMULA_SOURCE = "(3 x wet bulb - 80 - outdoor) / 2, common practice; no standard gives it"
_WET_F = tuple(float(w) for w in range(50, 77, 2))
_NONE = -1.0  # a dash in the printed table: do not charge by superheat here
_OUTDOOR_F = tuple(float(o) for o in range(55, 116, 10))
_TABLE = (  # superheat F: a row for each outdoor dry bulb, a figure for each wet bulb
    (9, 12, 14, 17, 20, 23, 27, 30, 33, 36, 38, 40, 42, 44),
    (_NONE, 6, 10, 13, 16, 19, 21, 24, 27, 30, 33, 36, 38, 41),
    (_NONE,) * 3 + (6, 9, 12, 15, 18, 21, 24, 28, 31, 34, 37),
    (_NONE,) * 6 + (8, 11, 15, 19, 22, 26, 30, 33),
    (_NONE,) * 7 + (6, 10, 14, 18, 22, 25, 29),
    (_NONE,) * 8 + (5, 9, 13, 17, 22, 26),
    (_NONE,) * 10 + (8, 14, 18, 24),
)


@dataclass(frozen=True)
class TargetSuperheat:
    """Target superheat in Fahrenheit degrees, with the rule-of-thumb value beside it."""

    target_f: float
    formula_f: float
    wet_bulb_f: float
    outdoor_f: float
    valid: str = "outdoor 55 to 115 F, indoor wet bulb 50 to 76 F, fixed orifice, target from 5 F"
    source: str = SOURCE
    formula_source: str = FORMULA_SOURCE

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return asdict(self)


def target_superheat(wet_bulb_k: float, outdoor_k: float) -> TargetSuperheat:
    """Target superheat from indoor wet bulb and outdoor dry bulb (K), between the printed cells.

    Where three of the four cells around are printed, their plane counts as far as it is between
    them. Raises TradeError outside the table's range, and beyond its printed cells (a dash: target
    under 5 F): there the charge cannot be judged by superheat.
    """
    wet, outdoor = k_to_f(wet_bulb_k), k_to_f(outdoor_k)
    require_between("indoor wet bulb", round(wet, 6), _WET_F[0], _WET_F[-1], "F")
    require_between("outdoor temperature", round(outdoor, 6), _OUTDOOR_F[0], _OUTDOOR_F[-1], "F")
    row, up = _place(outdoor, _OUTDOOR_F)
    column, right = _place(wet, _WET_F)
    near = [figures[column:column + 2] for figures in _TABLE[row:row + 2]]
    target = _between(near, up, right)
    if target is None:
        raise _no_target(wet, outdoor, row, up)
    return TargetSuperheat(target, (3.0 * wet - 80.0 - outdoor) / 2.0, wet, outdoor)


def _place(value: float, grid: tuple[float, ...]) -> tuple[int, float]:
    """The grid place below a value (never the last one), and how far on towards the next, 0 to 1.

    A share within a millionth of a place counts as that place: kelvin and back costs as much.
    """
    place = (value - grid[0]) / (grid[1] - grid[0])
    low = min(int(place + 1e-6), len(grid) - 2)
    share = place - low
    return low, float(round(share)) if abs(share - round(share)) < 1e-6 else share


def _between(near: list[tuple[float, ...]], up: float, right: float) -> float | None:
    """Between four cells, or between three where the hotter and drier one is a dash; else None."""
    (drier, wetter), (hot_drier, hot_wetter) = near
    cells = ((drier, (1 - up) * (1 - right)), (wetter, (1 - up) * right),
             (hot_drier, up * (1 - right)), (hot_wetter, up * right))
    if all(cell != _NONE for cell, share in cells if share > 0):
        return sum(cell * share for cell, share in cells if share > 0)
    if _NONE in (drier, wetter, hot_wetter) or up > right + 1e-6:
        return None
    return drier + right * (wetter - drier) + up * (hot_wetter - wetter)


def _no_target(wet_f: float, outdoor_f: float, row: int, up: float) -> TradeError:
    cooler, hotter = (_WET_F[figures.count(_NONE)] for figures in _TABLE[row:row + 2])
    lowest = cooler if up == 0 else hotter - (1.0 - up) * (_WET_F[1] - _WET_F[0])
    return TradeError(
        f"no target superheat at {wet_f:.1f} F wet bulb and {outdoor_f:.1f} F outdoors, where the "
        "printed table has a dash (target under 5 F): the permitted wet bulb there is "
        f"{math.ceil(lowest - 1e-6)} to {_WET_F[-1]:.0f} F; weigh the charge in, or add load "
        "indoors and read again"
    )
