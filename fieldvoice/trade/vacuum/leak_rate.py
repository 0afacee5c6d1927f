"""Leak rate from a rise of pressure in a known volume, and the units it is spoken in."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from fieldvoice.quantity.constants import PA_PER_MICRON
from fieldvoice.trade.errors import require_between, require_positive
from fieldvoice.trade.vacuum.conductance import GAS_CONSTANT

SECONDS_A_YEAR = 365.25 * 86_400.0


def kg_a_year(pa_m3_per_s: float, molar_kg: float, gas_k: float = 293.15) -> float:
    """Mass of a gas that flows a year at this throughput, taken at the temperature `gas_k`.

    A leak of air counted in another gas this way is counted molecule for molecule: the pressure
    that drives it, and the gas's viscosity, are left out. Source: p V = n R T, as in the units of
    leak-rate tables (1 mol/s = 2.27e3 Pa m3/s at 0 C).
    """
    require_positive("gas temperature", gas_k, "K")
    return pa_m3_per_s / (GAS_CONSTANT * gas_k) * molar_kg * SECONDS_A_YEAR


@dataclass(frozen=True)
class LeakRate:
    """A gas flow into (or out of) a system; throughput at the gas temperature given."""

    pa_m3_per_s: float
    mol_per_s: float
    micron_l_per_s: float
    mbar_l_per_s: float
    inputs: tuple[tuple[str, float], ...]
    source: str = "40 CFR 1065.644: n = V (p2/T2 - p1/T1) / (R dt)"

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return asdict(self)


def leak_rate(
    volume_m3: float, first_pa: float, last_pa: float, seconds: float,
    first_k: float = 293.15, last_k: float = 293.15,
) -> LeakRate:
    """Leak rate from two absolute pressures (Pa) and temperatures (K) `seconds` apart.

    Positive means gas came in. Source: 40 CFR 1065.644, vacuum-decay leak rate.
    """
    require_positive("system volume", volume_m3, "m3")
    require_between("system volume", volume_m3, 0.0, 100.0, "m3")
    require_positive("time between the readings", seconds, "s")
    for name, value in (("first pressure", first_pa), ("last pressure", last_pa)):
        require_positive(name, value, "Pa")
        require_between(name, value, 0.0, 7.0e6, "Pa")
    for name, value in (("first temperature", first_k), ("last temperature", last_k)):
        require_positive(name, value, "K")
    mol = volume_m3 * (last_pa / last_k - first_pa / first_k) / (GAS_CONSTANT * seconds)
    flow = mol * GAS_CONSTANT * last_k
    inputs = (
        ("volume_m3", volume_m3), ("first_pa", first_pa), ("last_pa", last_pa),
        ("seconds", seconds), ("first_k", first_k), ("last_k", last_k),
    )
    return LeakRate(flow, mol, flow * 1e3 / PA_PER_MICRON, flow * 10.0, inputs)
