"""Vapour pressure of water over liquid and over ice, and the temperature that a pressure means."""

from __future__ import annotations

import math

from fieldvoice.trade.errors import require_between, require_finite

TRIPLE_K = 273.16
TRIPLE_PA = 611.657  # IAPWS R14-08; 4588 microns
LIQUID_SOURCE = "IAPWS SR1-86(1992), saturation pressure of liquid water"
ICE_SOURCE = "IAPWS R14-08(2011), sublimation pressure of ice"
CRITICAL_K = 647.096
CRITICAL_PA = 22.064e6
ICE_MIN_K = 50.0  # lower limit of IAPWS R14-08
_LIQUID = (
    (-7.85951783, 1.0),
    (1.84408259, 1.5),
    (-11.7866497, 3.0),
    (22.6807411, 3.5),
    (-15.9618719, 4.0),
    (1.80122502, 7.5),
)
_ICE = (
    (-0.212144006e2, 0.333333333e-2),
    (0.273203819e2, 0.120666667e1),
    (-0.610598130e1, 0.170333333e1),
)


def liquid_pressure_pa(temperature_k: float) -> float:
    """Saturation pressure over liquid water, Pa; 273.16 K to 647.096 K.

    Source: Wagner and Pruss 1993, the equation of IAPWS SR1-86(1992).
    Raises TradeError outside the range: supercooled water is not what sits in a frozen line.
    """
    require_between("water temperature", temperature_k, TRIPLE_K - 1e-9, CRITICAL_K, "K")
    tau = 1.0 - temperature_k / CRITICAL_K
    total = sum(a * tau**b for a, b in _LIQUID)
    return CRITICAL_PA * math.exp(CRITICAL_K / temperature_k * total)


def ice_pressure_pa(temperature_k: float) -> float:
    """Sublimation pressure over ice, Pa; 50 K to 273.16 K. Source: IAPWS R14-08(2011), eq. 6."""
    require_between("ice temperature", temperature_k, ICE_MIN_K, TRIPLE_K + 1e-9, "K")
    theta = temperature_k / TRIPLE_K
    return TRIPLE_PA * math.exp(sum(a * theta**b for a, b in _ICE) / theta)


def phase_at(temperature_k: float) -> str:
    """`"ice"` below the triple point, `"liquid"` from there up."""
    return "ice" if require_finite("temperature", temperature_k, "K") < TRIPLE_K else "liquid"


def vapour_pressure_pa(temperature_k: float) -> float:
    """Vapour pressure of water in its stable form: ice below 273.16 K, liquid from there, Pa."""
    if phase_at(temperature_k) == "ice":
        return ice_pressure_pa(temperature_k)
    return liquid_pressure_pa(temperature_k)


def temperature_at_k(pressure_pa: float) -> float:
    """Temperature, K, at which water or ice has this vapour pressure (inverse of the above).

    Pa from that of ice at 100 K to the critical pressure; raises TradeError outside.
    """
    low_pa = ice_pressure_pa(100.0)
    require_between("vapour pressure", pressure_pa, low_pa, CRITICAL_PA, "Pa")
    low, high = (100.0, TRIPLE_K) if pressure_pa < TRIPLE_PA else (TRIPLE_K, CRITICAL_K)
    curve = ice_pressure_pa if pressure_pa < TRIPLE_PA else liquid_pressure_pa
    while high - low > 1e-9:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if curve(middle) < pressure_pa else (low, middle)
    return 0.5 * (low + high)


def source_of(phase: str) -> str:
    """The formula behind the vapour pressure of `"ice"` or `"liquid"`."""
    return ICE_SOURCE if phase == "ice" else LIQUID_SOURCE


def phase_for(pressure_pa: float) -> str:
    """`"ice"` when the pressure is below that of the triple point, else `"liquid"`."""
    return "ice" if pressure_pa < TRIPLE_PA else "liquid"
