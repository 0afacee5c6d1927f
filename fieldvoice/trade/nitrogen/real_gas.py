"""The pressure of nitrogen in a closed system after its temperature changed."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from fieldvoice.trade.errors import require_between
from fieldvoice.trade.vacuum.conductance import GAS_CONSTANT

SOURCE = "gas law at constant volume, absolute: p2 = p1 T2 / T1; real gas by two virial terms"
COLDEST_K, HOTTEST_K = 233.15, 343.15
# Second and third virial coefficients of nitrogen, from CoolProp 8.0.0 (Span et al. 2000). Within
# 0.07 psi of its full equation up to 600 psig and 15 F of change.
_VIRIAL_K0, _VIRIAL_STEP_K = 230.0, 20.0
_B_CM3_PER_MOL = (-22.956, -16.440, -11.058, -6.545, -2.713, 0.576, 3.426)
_C_CM6_PER_MOL2 = (1677.5, 1571.3, 1492.8, 1434.1, 1389.4, 1354.9, 1327.8)


@dataclass(frozen=True)
class Expected:
    """Pressure expected at a new temperature, Pa absolute: ideal gas, and nitrogen as it is."""

    start_pa: float
    start_k: float
    end_k: float
    ideal_pa: float
    real_pa: float
    source: str = SOURCE

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return asdict(self)


def expected_pressure(start_pa: float, start_k: float, end_k: float) -> Expected:
    """Pressure in a closed system after its temperature changed; absolute Pa and K.

    Raises TradeError for pressures under 60 kPa or above 7 MPa, and temperatures outside
    -40 to 158 F.
    """
    require_between("start pressure (absolute)", start_pa, 60_000.0, 7.0e6, "Pa")
    for name, value in (("start temperature", start_k), ("end temperature", end_k)):
        require_between(name, value, COLDEST_K, HOTTEST_K, "K")
    ideal = start_pa * end_k / start_k
    density = _density(start_pa, start_k)
    return Expected(start_pa, start_k, end_k, ideal, _pressure(density, end_k))


def _coefficient(kelvin: float, values: tuple[float, ...]) -> float:
    step = (kelvin - _VIRIAL_K0) / _VIRIAL_STEP_K
    low = min(int(step), len(values) - 2)
    return values[low] + (step - low) * (values[low + 1] - values[low])


def _pressure(density: float, kelvin: float) -> float:
    """Pa at a molar density, mol/m3."""
    b = _coefficient(kelvin, _B_CM3_PER_MOL) * 1e-6
    c = _coefficient(kelvin, _C_CM6_PER_MOL2) * 1e-12
    return density * GAS_CONSTANT * kelvin * (1.0 + b * density + c * density**2)


def _density(pressure_pa: float, kelvin: float) -> float:
    """Molar density, mol/m3, by fixed-point iteration (Z is within 3 % of one here)."""
    density = pressure_pa / (GAS_CONSTANT * kelvin)
    for _ in range(20):
        density *= pressure_pa / _pressure(density, kelvin)
    return density

