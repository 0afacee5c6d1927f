"""Charge trim for the line set: what to add to (or take from) the factory charge."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from fieldvoice.quantity.constants import KG_PER_OZ, M_PER_FOOT, f_to_k
from fieldvoice.trade.charge.tube import tube
from fieldvoice.trade.errors import TradeError, require_between, require_positive
from fieldvoice.trade.refrigerant.refrigerants import refrigerant
from fieldvoice.trade.refrigerant.saturation import liquid_density, vapour_density

LIQUID_LINE_K = f_to_k(100.0)  # the liquid temperature taken when none is given
COOL_LIQUID_K = f_to_k(70.0)  # a liquid line of a mild day, whose liquid is denser
SUCTION_DEW_K = f_to_k(45.0)  # of the suction vapour, when none is given
USUAL_SHARE = (0.3, 1.6)  # of a line full of liquid: where published adders lie (common practice)
OUNCES_PER_FOOT = KG_PER_OZ / M_PER_FOOT  # kg/m


@dataclass(frozen=True)
class PerLength:
    """Refrigerant held by a metre of line, kg/m, from bore and density."""

    kg_per_m: float
    liquid_kg_per_m: float
    suction_kg_per_m: float
    refrigerant: str
    liquid_size: str
    suction_size: str | None
    liquid_k: float
    suction_dew_k: float
    source: str = "ASTM B280 bore x saturated density (CoolProp); line full of liquid"

    @property
    def oz_per_ft(self) -> float:
        """The same in ounces a foot."""
        return self.kg_per_m / OUNCES_PER_FOOT

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return {**asdict(self), "oz_per_ft": self.oz_per_ft}


@dataclass(frozen=True)
class Trim:
    """Charge to add (positive) or recover (negative), kg, with what it was worked out from."""

    change_kg: float
    line_kg: float
    covered_kg: float
    adder_kg_per_m: float
    length_m: float
    covered_m: float | None
    refrigerant: str
    liquid_size: str
    safety_class: str
    full_of_liquid_kg_per_m: float
    from_equipment: bool
    reason: str
    next_action: str
    source: str = "adder x length - mass covered by the factory charge"

    @property
    def change_oz(self) -> float:
        """The change in ounces."""
        return self.change_kg / KG_PER_OZ

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return {**asdict(self), "change_oz": self.change_oz}


def per_length(
    name: str, liquid_size: str, suction_size: str | None = None,
    liquid_k: float = LIQUID_LINE_K, suction_dew_k: float = SUCTION_DEW_K,
) -> PerLength:
    """Mass held by a metre of line: liquid at `liquid_k`, suction as dew vapour at 45 F."""
    fluid = refrigerant(name)
    bore = tube(liquid_size)
    liquid = bore.volume_m3_per_m * liquid_density(name, liquid_k)
    suction = 0.0
    if suction_size is not None:
        suction = tube(suction_size).volume_m3_per_m * vapour_density(name, suction_dew_k)
    return PerLength(liquid + suction, liquid, suction, fluid.name, bore.nominal, suction_size,
                     liquid_k, suction_dew_k)


def charge_trim(
    name: str, liquid_size: str, length_m: float, *, covered_m: float | None = None,
    covered_kg: float | None = None, adder_kg_per_m: float | None = None,
) -> Trim:
    """Change of charge for a line set of `length_m`.

    `adder_kg_per_m` and what the factory charge covers (a length, or a mass) come from the
    equipment's instructions. Without an adder the line is taken as full of liquid at 100 F. That
    is no bound: cooler liquid is denser (R-410A in 3/8 inch 0.521 oz/ft at 100 F, 0.568 at 70 F).
    Where the metering device sits outdoors the line holds about half.
    Raises TradeError on unknown tube or refrigerant, and when neither or both covers are given.
    """
    fluid = refrigerant(name)
    require_between("line length", length_m, 0.0, 150.0, "m")
    full = per_length(name, liquid_size).kg_per_m
    adder = full if adder_kg_per_m is None else require_positive("adder", adder_kg_per_m, "kg/m")
    if covered_m is not None:
        require_between("covered length", covered_m, 0.0, 150.0, "m")
    if (covered_m is None) == (covered_kg is None):
        raise TradeError(
            "what the factory charge covers is missing or given twice: give either a line length "
            "or a mass, from the equipment's instructions"
        )
    covered = covered_kg if covered_kg is not None else adder * float(covered_m or 0.0)
    require_between("mass covered", covered, 0.0, 50.0, "kg")
    change = adder * length_m - covered
    given = adder_kg_per_m is not None
    return Trim(change, adder * length_m, covered, adder, length_m, covered_m, fluid.name,
                liquid_size, fluid.safety_class, full, given,
                _given(adder / full) if given else _full(fluid.name, liquid_size),
                _action(change, fluid.caution))


def _full(name: str, liquid_size: str) -> str:
    """What stands in for the equipment's figure, and why it is none."""
    warm, cool = (per_length(name, liquid_size, liquid_k=kelvin).oz_per_ft
                  for kelvin in (LIQUID_LINE_K, COOL_LIQUID_K))
    return ("No figure from the equipment was given, so the liquid line is taken as full of "
            f"liquid at 100 °F: {warm:.2f} ounces a foot, at 70 °F it would be {cool:.2f}. "
            "Use the equipment's own figure.")


def _given(ratio: float) -> str:
    text = f"The figure given is {ratio:.0%} of a line full of liquid."
    if not USUAL_SHARE[0] <= ratio <= USUAL_SHARE[1]:
        return text + " That is unusual: check the size, the units and the page."
    return text


def _action(change_kg: float, caution: str) -> str:
    ounces = change_kg / KG_PER_OZ
    if abs(ounces) < 0.05:
        return "Nothing to add."
    if ounces > 0:
        return f"Weigh in {ounces:.1f} ounces, then check superheat or subcooling. {caution}"
    return f"Recover {-ounces:.1f} ounces, never vent, then check again. {caution}"
