"""Water's boiling point in the standard atmosphere."""

from __future__ import annotations

from fieldvoice.quantity.site import atmosphere_at
from fieldvoice.trade.vacuum import water


def boiling_point_k(altitude_m: float = 0.0) -> float:
    """Temperature at which water boils in the open at an altitude, K."""
    return water.temperature_at_k(atmosphere_at(altitude_m))
