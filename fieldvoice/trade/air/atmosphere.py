"""Barometric pressure of the standard atmosphere, and water's boiling point in it."""

from __future__ import annotations

from fieldvoice.quantity.constants import PA_PER_ATM, PA_PER_IN_HG
from fieldvoice.trade.errors import require_between
from fieldvoice.trade.vacuum import water

SOURCE = "US Standard Atmosphere 1976, lowest layer: 101325 (1 - 2.25577e-5 h)^5.25588"


def pressure_at_altitude_pa(altitude_m: float) -> float:
    """Standard barometric pressure, Pa, from -500 m to 11,000 m above sea level."""
    require_between("altitude", altitude_m, -500.0, 11_000.0, "m")
    return float(PA_PER_ATM * (1.0 - 2.25577e-5 * altitude_m) ** 5.25588)


def boiling_point_k(altitude_m: float = 0.0) -> float:
    """Temperature at which water boils in the open at an altitude, K."""
    return water.temperature_at_k(pressure_at_altitude_pa(altitude_m))


def absolute_from_inches_of_vacuum_pa(
    inches: float, reference_pa: float = 29.92126 * PA_PER_IN_HG
) -> float:
    """Absolute pressure, Pa, of a dial reading in inches of mercury vacuum.

    The reading means nothing without its reference barometer: documents use 29.92 or 30.00 inches,
    which differ by 2,000 microns. A dial can therefore never carry a micron result.
    """
    require_between("reference barometer", reference_pa, 50_000.0, 1.1 * PA_PER_ATM, "Pa")
    require_between("vacuum", inches, 0.0, reference_pa / PA_PER_IN_HG, "inHg")
    return reference_pa - inches * PA_PER_IN_HG
