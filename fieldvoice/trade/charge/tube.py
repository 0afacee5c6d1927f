"""Copper tube of the ACR sizes and the volume of a line set."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from fieldvoice.quantity.constants import M_PER_INCH
from fieldvoice.trade.errors import TradeError, require_positive

SOURCE = "ASTM B280 (annealed coils), outside diameter and wall in inches"
# nominal (outside diameter as said) -> outside diameter, wall; inches
_ANNEALED = {
    "1/4": (0.250, 0.030),
    "5/16": (0.3125, 0.032),
    "3/8": (0.375, 0.032),
    "1/2": (0.500, 0.032),
    "5/8": (0.625, 0.035),
    "3/4": (0.750, 0.035),
    "7/8": (0.875, 0.045),
    "1-1/8": (1.125, 0.050),
}
_DRAWN = {"3/8": (0.375, 0.030), "1/2": (0.500, 0.035), "5/8": (0.625, 0.040)}


@dataclass(frozen=True)
class Tube:
    """One tube size: nominal name, bore in m, section in m2 (same number as m3 per m)."""

    nominal: str
    bore_m: float
    source: str = SOURCE

    @property
    def volume_m3_per_m(self) -> float:
        """Inside volume of one metre, m3."""
        return math.pi / 4.0 * self.bore_m**2


@dataclass(frozen=True)
class Volume:
    """A volume in m3 with the parts it was summed from."""

    volume_m3: float
    parts_m3: tuple[tuple[str, float], ...]
    lengths_m: tuple[tuple[str, float], ...]
    source: str = SOURCE

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return asdict(self)


def sizes(drawn: bool = False) -> tuple[str, ...]:
    """Nominal sizes known, as `"3/8"`."""
    return tuple(_DRAWN if drawn else _ANNEALED)


def tube(nominal: str, drawn: bool = False) -> Tube:
    """The tube of a nominal size such as `"3/8"` (outside diameter, inches).

    Source: ASTM B280. Raises TradeError for a size that is not in the table.
    """
    table = _DRAWN if drawn else _ANNEALED
    name = nominal.strip().removesuffix("in").removesuffix('"').strip().replace(" ", "-")
    if name not in table:
        kind = "drawn" if drawn else "annealed"
        raise TradeError(f"tube size {nominal!r} is not known ({kind}): use {', '.join(table)}")
    outside, wall = table[name]
    return Tube(name, (outside - 2 * wall) * M_PER_INCH)


def line_set_volume(
    lengths_m: Mapping[str, float], other_m3: Mapping[str, float] | None = None
) -> Volume:
    """Inside volume of tubes {nominal: length in m} plus other parts {name: m3}, such as coils."""
    parts = [
        (f"{name} tube", tube(name).volume_m3_per_m * require_positive(f"{name} length", m, "m"))
        for name, m in lengths_m.items()
    ]
    for name, volume in (other_m3 or {}).items():
        parts.append((name, require_positive(f"volume of {name}", volume, "m3")))
    if not parts:
        raise TradeError("system volume is empty: give at least one tube length or component")
    return Volume(sum(v for _, v in parts), tuple(parts), tuple(lengths_m.items()))
