"""The air side: temperature split, and what the coil does to the air."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

import psychrolib  # type: ignore[import-untyped]  # ships no types

from fieldvoice.quantity.constants import KELVIN_AT_0_C, PA_PER_ATM, c_to_f
from fieldvoice.trade.air.usual_split import split_reason
from fieldvoice.trade.errors import TradeError, require_between, require_positive

psychrolib.SetUnitSystem(psychrolib.SI)

SOURCE = "moist air by psychrolib (ASHRAE Handbook Fundamentals 2017, chapter 1)"
DRIEST = 1e-7  # kg of water a kg of dry air: the least that psychrolib works with


@dataclass(frozen=True)
class MoistAir:
    """Moist air: K, humidity ratio kg/kg dry air, enthalpy J/kg dry air, m3/kg dry air."""

    dry_bulb_k: float
    wet_bulb_k: float
    dew_point_k: float
    relative_humidity: float
    humidity_ratio: float
    enthalpy_j_per_kg: float
    volume_m3_per_kg: float
    pressure_pa: float
    source: str = SOURCE

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return asdict(self)


@dataclass(frozen=True)
class AirSplit:
    """Return less supply temperature, and with airflow the heat taken out, W."""

    split_k: float
    returned: MoistAir
    supplied: MoistAir | None
    total_w: float | None
    sensible_w: float | None
    airflow_m3_per_s: float | None
    supply_k: float
    reason: str
    source: str = SOURCE

    @property
    def split_f(self) -> float:
        """The split in Fahrenheit degrees."""
        return self.split_k * 1.8

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return {**asdict(self), "split_f": self.split_f}


def moist_air(dry_bulb_k: float, wet_bulb_k: float, pressure_pa: float = PA_PER_ATM) -> MoistAir:
    """State of moist air from dry and wet bulb (K) at a barometric pressure (Pa).

    Raises TradeError when the wet bulb is above the dry bulb or so low that no air has it.
    """
    require_between("dry bulb", dry_bulb_k, 250.0, 340.0, "K")
    require_between("wet bulb", wet_bulb_k, 250.0, 340.0, "K")
    require_between("barometric pressure", pressure_pa, 50_000.0, 110_000.0, "Pa")
    dry, wet = dry_bulb_k - KELVIN_AT_0_C, wet_bulb_k - KELVIN_AT_0_C
    ratio = 0.0
    if wet <= dry:
        ratio = float(psychrolib.GetHumRatioFromTWetBulb(dry, wet, pressure_pa))
    if ratio <= DRIEST:
        raise _impossible_wet_bulb(dry, wet, pressure_pa)
    return MoistAir(
        dry_bulb_k, wet_bulb_k,
        float(psychrolib.GetTDewPointFromHumRatio(dry, ratio, pressure_pa)) + KELVIN_AT_0_C,
        float(psychrolib.GetRelHumFromHumRatio(dry, ratio, pressure_pa)), ratio,
        float(psychrolib.GetMoistAirEnthalpy(dry, ratio)),
        float(psychrolib.GetMoistAirVolume(dry, ratio, pressure_pa)), pressure_pa,
    )


def _impossible_wet_bulb(dry_c: float, wet_c: float, pressure_pa: float) -> TradeError:
    lowest = float(psychrolib.GetTWetBulbFromHumRatio(dry_c, DRIEST, pressure_pa))
    return TradeError(
        f"wet bulb is {c_to_f(wet_c):.1f} F: permitted range at {c_to_f(dry_c):.1f} F dry bulb is "
        f"{c_to_f(lowest):.0f} to {c_to_f(dry_c):.1f} F; read both again, wick wet and in the air"
    )


def air_split(
    return_k: float, return_wet_k: float, supply_k: float, *, supply_wet_k: float | None = None,
    airflow_m3_per_s: float | None = None, pressure_pa: float = PA_PER_ATM,
) -> AirSplit:
    """Temperature split in cooling; with the airflow (at the return) the heat removed.

    Total heat needs the supply wet bulb too.
    """
    returned = moist_air(return_k, return_wet_k, pressure_pa)
    require_between("supply temperature", supply_k, 250.0, 340.0, "K")
    supplied = None if supply_wet_k is None else moist_air(supply_k, supply_wet_k, pressure_pa)
    total = sensible = None
    if airflow_m3_per_s is not None:
        dry_air = require_positive("airflow", airflow_m3_per_s, "m3/s") / returned.volume_m3_per_kg
        sensible = dry_air * (1006.0 + 1860.0 * returned.humidity_ratio) * (return_k - supply_k)
        if supplied is not None:
            total = dry_air * (returned.enthalpy_j_per_kg - supplied.enthalpy_j_per_kg)
    split = return_k - supply_k
    return AirSplit(split, returned, supplied, total, sensible, airflow_m3_per_s, supply_k,
                    split_reason(split, f"{round(split * 1.8, 1):.1f} °F"))
