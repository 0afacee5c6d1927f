"""Flow of thin gas through hoses and fittings, and the pumping speed left at the system."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from fieldvoice.quantity.constants import PA_PER_ATM
from fieldvoice.trade.errors import require_between, require_positive

GAS_CONSTANT = 8.314_462_618  # J/(mol K), SI exact product
AIR_MOLAR_KG = 0.028_964_4  # US Standard Atmosphere 1976
AIR_VISCOSITY = 18.2e-6  # Pa s at 20 C
SOURCE = (
    "long tube: laminar pi d^4 p / (128 eta l) plus molecular mean-speed pi d^3 / (12 l); "
    "series 1/S = 1/Sp + 1/C (vacuum textbooks); about 30 % uncertain between the two regimes"
)


@dataclass(frozen=True)
class Passage:
    """A hose, core or fitting as a round bore; both in m.

    `short` adds the entrance of a short bore as 4/3 of its diameter to the length (from memory,
    Dushman's approximation).
    """

    name: str
    bore_m: float
    length_m: float
    short: bool = False

    @property
    def flow_length_m(self) -> float:
        """Length that resists, m."""
        return self.length_m + (4.0 / 3.0 * self.bore_m if self.short else 0.0)


def mean_speed_m_per_s(temperature_k: float = 293.15, molar_kg: float = AIR_MOLAR_KG) -> float:
    """Mean thermal speed of gas molecules, m/s (kinetic theory)."""
    require_positive("temperature", temperature_k, "K")
    return math.sqrt(8.0 * GAS_CONSTANT * temperature_k / (math.pi * molar_kg))


def molecular_m3_per_s(passage: Passage, speed_m_per_s: float | None = None) -> float:
    """Molecular conductance of a long tube, m3/s; air at 20 C unless a mean speed is given."""
    speed = mean_speed_m_per_s() if speed_m_per_s is None else speed_m_per_s
    _check(passage)
    return speed * math.pi * passage.bore_m**3 / (12.0 * passage.flow_length_m)


def laminar_m3_per_s(
    passage: Passage, mean_pressure_pa: float, viscosity_pa_s: float = AIR_VISCOSITY
) -> float:
    """Laminar (viscous) conductance at the mean of the end pressures, m3/s; air at 20 C."""
    _check(passage)
    slope = math.pi * passage.bore_m**4 / (128.0 * viscosity_pa_s * passage.flow_length_m)
    return slope * mean_pressure_pa


def conductance_m3_per_s(passage: Passage, mean_pressure_pa: float) -> float:
    """Laminar plus molecular conductance at a mean pressure, m3/s."""
    require_between("mean pressure", mean_pressure_pa, 0.0, PA_PER_ATM, "Pa")
    return laminar_m3_per_s(passage, mean_pressure_pa) + molecular_m3_per_s(passage)


@dataclass(frozen=True)
class EffectiveSpeed:
    """Speed at the system end, m3/s, with the pressure at each joint on the way to the pump, Pa."""

    speed_m3_per_s: float
    pump_m3_per_s: float
    system_pa: float
    pump_inlet_pa: float
    drops_pa: tuple[tuple[str, float], ...]
    passages: tuple[Passage, ...]
    source: str = SOURCE

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return asdict(self)


def effective_speed(
    pump_m3_per_s: float, passages: Sequence[Passage], system_pa: float
) -> EffectiveSpeed:
    """Speed left at the system through passages in series, solved for the pressures between them.

    `system_pa` is the pressure at the system, where the first passage starts; the last ends at
    the pump. The flow is the one that every passage and the pump carry alike.
    """
    require_positive("pump speed", pump_m3_per_s, "m3/s")
    require_between("pump speed", pump_m3_per_s, 0.0, 1.0, "m3/s")
    for passage in passages:
        require_between(f"bore of {passage.name}", passage.bore_m, 0.0, 0.5, "m")
        require_between(f"length of {passage.name}", passage.length_m, 0.0, 200.0, "m")
    require_between("system pressure", system_pa, 1e-3, PA_PER_ATM, "Pa")
    pressures = [system_pa]
    low, high = 0.0, pump_m3_per_s * system_pa
    for _ in range(60):
        flow = 0.5 * (low + high)
        pressures = _along(passages, system_pa, flow)
        reaches = len(pressures) > len(passages) and pump_m3_per_s * pressures[-1] >= flow
        low, high = (flow, high) if reaches else (low, flow)
    pressures = _along(passages, system_pa, low)
    drops = tuple(
        (p.name, a - b)
        for p, a, b in zip(passages, pressures, pressures[1:], strict=False)
    )
    return EffectiveSpeed(low / system_pa, pump_m3_per_s, system_pa, pressures[-1], drops,
                          tuple(passages))


def _along(passages: Sequence[Passage], system_pa: float, flow: float) -> list[float]:
    """Pressures from the system to the pump at a flow, Pa m3/s; cut short where it cannot pass."""
    pressures = [system_pa]
    for passage in passages:
        linear = molecular_m3_per_s(passage)
        half = 0.5 * laminar_m3_per_s(passage, 1.0)
        left = half * pressures[-1] ** 2 + linear * pressures[-1] - flow
        if left < 0:
            break
        pressures.append(2.0 * left / (linear + math.sqrt(linear**2 + 4.0 * half * left)))
    return pressures


def _check(passage: Passage) -> None:
    require_positive(f"bore of {passage.name}", passage.bore_m, "m")
    require_positive(f"length of {passage.name}", passage.length_m, "m")
