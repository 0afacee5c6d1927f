"""Target superheat of a fixed orifice, and the superheat and subcooling checks against targets."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from fieldvoice.quantity.constants import k_to_f
from fieldvoice.trade.errors import TradeError, require_between, require_finite

SOURCE = ("Lennox 14ACX manual p. 26, superheat F by outdoor dry bulb and indoor wet bulb; "
          "Carrier 38VTA Table 4 is within 2 F of it; the equipment's own chart governs")
FORMULA_SOURCE = "(3 x wet bulb - 80 - outdoor) / 2, common practice; no standard gives it"
_WET_F = tuple(float(w) for w in range(50, 77, 2))
_NONE = -1.0  # a dash in the printed table: do not charge by superheat here
_TABLE = {  # outdoor dry bulb F -> superheat F at each wet bulb of _WET_F
    55.0: (9, 12, 14, 17, 20, 23, 27, 30, 33, 36, 38, 40, 42, 44),
    65.0: (_NONE, 6, 10, 13, 16, 19, 21, 24, 27, 30, 33, 36, 38, 41),
    75.0: (_NONE,) * 3 + (6, 9, 12, 15, 18, 21, 24, 28, 31, 34, 37),
    85.0: (_NONE,) * 6 + (8, 11, 15, 19, 22, 26, 30, 33),
    95.0: (_NONE,) * 7 + (6, 10, 14, 18, 22, 25, 29),
    105.0: (_NONE,) * 8 + (5, 9, 13, 17, 22, 26),
    115.0: (_NONE,) * 10 + (8, 14, 18, 24),
}
_OUTDOOR_F = tuple(_TABLE)
HIGHEST_TARGET_F = 60.0  # no chart asks for more (common practice)
SUPERHEAT_BAND_F = 5.0  # California Energy Commission 2008 RA3 p. 14: installer within 5 F
SUBCOOLING_BAND_F = 3.0  # the same: short of the target by 3 F or more fails


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


@dataclass(frozen=True)
class ChargeCheck:
    """A measured superheat or subcooling against its target, in Fahrenheit degrees."""

    kind: str
    measured_f: float
    target_f: float
    band_f: float
    within: bool
    reason: str
    next_action: str
    source: str = "California Energy Commission 2008 Residential Appendix RA3 pp. 14-15"

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return asdict(self)


def target_superheat(wet_bulb_k: float, outdoor_k: float) -> TargetSuperheat:
    """Target superheat from indoor wet bulb and outdoor dry bulb (K), interpolated in the table.

    Raises TradeError outside the table's range, and where the table prints a dash (target under
    5 F): there the charge cannot be judged by superheat.
    """
    wet, outdoor = k_to_f(wet_bulb_k), k_to_f(outdoor_k)
    require_between("indoor wet bulb", round(wet, 6), _WET_F[0], _WET_F[-1], "F")
    require_between("outdoor temperature", round(outdoor, 6), _OUTDOOR_F[0], _OUTDOOR_F[-1], "F")
    total = 0.0
    rows = _shares(outdoor, _OUTDOOR_F)
    for row, row_share in rows:
        for column, share in _shares(wet, _WET_F):
            cell = _TABLE[_OUTDOOR_F[row]][column]
            if cell == _NONE:
                raise _no_target(wet, outdoor, [_TABLE[_OUTDOOR_F[r]] for r, _ in rows])
            total += row_share * share * cell
    return TargetSuperheat(total, (3.0 * wet - 80.0 - outdoor) / 2.0, wet, outdoor)


def _no_target(wet_f: float, outdoor_f: float, rows: list[tuple[float, ...]]) -> TradeError:
    lowest = max(_WET_F[sum(cell == _NONE for cell in row)] for row in rows)
    return TradeError(
        f"no target superheat at {wet_f:.0f} F wet bulb and {outdoor_f:.0f} F outdoors, it would "
        f"be under 5 F: the permitted wet bulb there is {lowest:.0f} to {_WET_F[-1]:.0f} F; weigh "
        "the charge in, or add load indoors and read again"
    )


def check_superheat(measured_f: float, target_f: float) -> ChargeCheck:
    """Compare a superheat with its target (both F degrees), within 5 F; settle 15 minutes first."""
    require_between("target superheat", target_f, 0.0, HIGHEST_TARGET_F, "F")
    off = require_finite("superheat", measured_f, "F") - target_f
    within = abs(off) <= SUPERHEAT_BAND_F
    action = "Leave the charge." if within else (
        "High: after 15 steady minutes and with airflow right, add a little and wait."
        if off > 0 else "Low: check airflow, then recover a little and wait; liquid can reach the "
        "compressor."
    )
    return ChargeCheck("superheat", measured_f, target_f, SUPERHEAT_BAND_F, within,
                       _compare("Superheat", measured_f, target_f), action)


def check_subcooling(measured_f: float, target_f: float) -> ChargeCheck:
    """Compare a subcooling with the nameplate target (both F degrees), within 3 F."""
    require_between("target subcooling", target_f, 0.0, HIGHEST_TARGET_F, "F")
    off = require_finite("subcooling", measured_f, "F") - target_f
    within = abs(off) < SUBCOOLING_BAND_F
    action = "Leave the charge." if within else (
        "High: recover a little and wait 15 minutes." if off > 0 else
        "Low: after 15 steady minutes and with airflow right, add a little and wait."
    )
    return ChargeCheck("subcooling", measured_f, target_f, SUBCOOLING_BAND_F, within,
                       _compare("Subcooling", measured_f, target_f), action)


def _compare(name: str, measured_f: float, target_f: float) -> str:
    return f"{name} is {measured_f:.1f} °F, target {target_f:.1f}."


def _shares(value: float, grid: tuple[float, ...]) -> list[tuple[int, float]]:
    """The one or two grid places that a value lies between, each with its share."""
    step = grid[1] - grid[0]
    place = min(max((value - grid[0]) / step, 0.0), len(grid) - 1.0)
    low = int(place + 1e-9)
    upper = place - low
    if upper <= 1e-6:
        return [(low, 1.0)]
    return [(low, 1.0 - upper), (low + 1, upper)]
