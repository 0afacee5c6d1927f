"""Around the pull: dilution by nitrogen sweeps, water as vapour, freezing, cores left in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from fieldvoice.quantity.constants import PA_PER_ATM, k_to_f, microns
from fieldvoice.quantity.counted import counted
from fieldvoice.trade.errors import TradeError, require_between, require_positive
from fieldvoice.trade.vacuum import water
from fieldvoice.trade.vacuum.conductance import (
    GAS_CONSTANT,
    SOURCE,
    EffectiveSpeed,
    Passage,
    effective_speed,
)

WATER_KG_PER_MOL = 0.018_015_28
EVAPORATION_J_PER_KG = 2.50e6  # at 0 C, steam tables (from memory)
FUSION_J_PER_KG = 3.34e5  # ice, steam tables (from memory)
WATER_J_PER_KG_K = 4186.0
COLDEST_AMBIENT_K = 275.15  # UFGS 15182 section 3.3.3: above 2 C (35 F) while evacuating
# A core left in its valve as one short bore. The size is an estimate (common practice): measure
# or enter your own when it matters.
CORE = Passage("valve core left in", bore_m=0.0018, length_m=0.012, short=True)


@dataclass(frozen=True)
class Dilution:
    """What sweeps leave behind: the share of the first air (and vapour), and its pressure in Pa."""

    share_left: float
    equivalent_pa: float  # pressure of the first gas alone after the last pull
    pulls_pa: tuple[float, ...]
    breaks_pa: tuple[float, ...]
    source: str = "ideal mixing: each break to p with nitrogen and pull to q leaves q / p"

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return asdict(self)


@dataclass(frozen=True)
class WaterLoad:
    """Water as vapour: mass kg, its volume at the pressure in m3, and pumping time in s."""

    mass_kg: float
    pressure_pa: float
    vapour_m3: float
    pumping_s: float | None
    temperature_k: float
    speed_m3_per_s: float | None
    source: str = "ideal gas; pumping time = vapour volume / effective speed at that pressure"

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return asdict(self)


@dataclass(frozen=True)
class Freezing:
    """Whether water left in the system freezes at this pressure, and what to do."""

    hazard: bool
    ice_k: float | None  # temperature of the ice in balance with the pressure
    share_frozen_at_most: float  # of the water, if no heat comes in from the pipe
    reason: str
    next_action: str
    pressure_pa: float
    ambient_k: float
    source: str = "IAPWS R14-08 triple point 611.657 Pa; heat balance of boiling water"

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return asdict(self)


@dataclass(frozen=True)
class CoresCost:
    """Effective speed with and without valve cores, and how many times longer the pull takes."""

    without: EffectiveSpeed
    with_cores: EffectiveSpeed
    times_longer: float
    cores: int
    source: str = SOURCE + "; size of a core: an estimate, common practice"

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return asdict(self)


def dilution(pulls_pa: Sequence[float], breaks_pa: Sequence[float]) -> Dilution:
    """Share of the first air left after pulls (absolute Pa) with a nitrogen break between each two.

    Triple evacuation is three pulls and two breaks. Raises TradeError when the counts do not fit
    or a break is not above the pull before it.
    """
    if len(breaks_pa) != len(pulls_pa) - 1:
        raise TradeError(
            f"{len(pulls_pa)} pulls need {len(pulls_pa) - 1} breaks between them, "
            f"not {len(breaks_pa)}: give one break pressure between each two pulls"
        )
    level = PA_PER_ATM
    share = 1.0
    for index, pull in enumerate(pulls_pa):
        require_positive(f"pull {index + 1}", pull, "Pa")
        if pull >= level:
            raise TradeError(
                f"pull {index + 1} is {counted(f'{microns(pull):.0f}', 'micron')}: permitted "
                f"range is above zero to below the pressure before it, {microns(level):.0f} microns"
            )
        share *= pull / level
        if index < len(breaks_pa):
            level = require_between(f"break {index + 1}", breaks_pa[index], pull, 7.0e6, "Pa")
    return Dilution(share, share * PA_PER_ATM, tuple(pulls_pa), tuple(breaks_pa))


def water_load(
    mass_kg: float, pressure_pa: float, temperature_k: float = 293.15,
    speed_m3_per_s: float | None = None,
) -> WaterLoad:
    """Volume that water fills as vapour at a pressure, and how long a pump speed needs for it."""
    require_positive("water mass", mass_kg, "kg")
    require_positive("pressure", pressure_pa, "Pa")
    require_between("temperature", temperature_k, 250.0, 340.0, "K")
    volume = mass_kg / WATER_KG_PER_MOL * GAS_CONSTANT * temperature_k / pressure_pa
    seconds = None
    if speed_m3_per_s is not None:
        seconds = volume / require_positive("effective speed", speed_m3_per_s, "m3/s")
    return WaterLoad(mass_kg, pressure_pa, volume, seconds, temperature_k, speed_m3_per_s)


def freezing(pressure_pa: float, ambient_k: float) -> Freezing:
    """Whether any water left would be ice at this absolute pressure and pipe temperature.

    Below the triple point (4588 microns) water that is not warmed by the pipe freezes, and ice
    gives its vapour off slowly. Raises TradeError on impossible values.
    """
    require_between("pressure", pressure_pa, 0.01, PA_PER_ATM, "Pa")
    require_between("ambient temperature", ambient_k, 213.15, 343.15, "K")
    cooling = WATER_J_PER_KG_K * max(ambient_k - water.TRIPLE_K, 0.0)
    share = 1.0 / (1.0 + (cooling + FUSION_J_PER_KG) / EVAPORATION_J_PER_KG)
    ice = water.temperature_at_k(pressure_pa) if pressure_pa < water.TRIPLE_PA else None
    if ambient_k < COLDEST_AMBIENT_K:
        return Freezing(
            True, ice, share, f"The pipe is at {k_to_f(ambient_k):.0f} °F: water in it is ice or "
            "nearly so, and leaves slowly.", "Warm the pipe and coil above 35 °F and keep pumping.",
            pressure_pa, ambient_k,
        )
    read = counted(f"{microns(pressure_pa):.0f}", "micron")
    if ice is None:
        return Freezing(False, None, 0.0, f"{read} is above 4588: "
                        "water boils here and does not freeze.", "Go on pulling.", pressure_pa,
                        ambient_k)
    return Freezing(
        True, ice, share, f"{read} is below 4588: water not warmed by "
        f"the pipe is ice, down to {k_to_f(ice):.0f} °F.",
        "If water is suspected, break with dry nitrogen, warm the low spots, and pull again.",
        pressure_pa, ambient_k,
    )


def cores_cost(
    pump_m3_per_s: float, passages: Sequence[Passage], system_pa: float, cores: int = 1,
    core: Passage = CORE,
) -> CoresCost:
    """Compare the pull with cores removed and with `cores` of them in the way, at a pressure."""
    require_between("number of cores", cores, 1, 4)
    without = effective_speed(pump_m3_per_s, passages, system_pa)
    added = [replace(core, name=f"{core.name} {i + 1}") for i in range(cores)]
    blocked = effective_speed(pump_m3_per_s, [*added, *passages], system_pa)
    return CoresCost(without, blocked, without.speed_m3_per_s / blocked.speed_m3_per_s,
                     cores)
