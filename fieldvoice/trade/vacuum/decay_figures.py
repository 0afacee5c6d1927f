"""Figures of a decay verdict as they are said: pressures, moments, temperatures, masses."""

from __future__ import annotations

from fieldvoice.quantity.constants import KG_PER_OZ, c_to_f, microns
from fieldvoice.quantity.counted import counted
from fieldvoice.trade.vacuum.decay_types import VacuumReading


def um(pressure_pa: float, *, bare: bool = False) -> str:
    """A pressure in microns, to four figures at most; without the unit when `bare`."""
    value = microns(pressure_pa)
    text = f"{float(f'{value:.4g}'):.0f}" if value >= 10 else f"{value:.1f}"
    return text if bare else counted(text, "micron")


def read_at(reading: VacuumReading) -> str:
    """A reading as it was read: "Read 490 microns at minute 10"."""
    return f"Read {counted(_as_read(reading.pressure_pa), 'micron')} at {minute(reading.minutes)}"


def _as_read(pressure_pa: float) -> str:
    value = microns(pressure_pa)
    return f"{value:.0f}" if value >= 100 else f"{value:.1f}".removesuffix(".0")


def minute(value: float) -> str:
    """A moment of the hold: "minute 2.5"."""
    return "minute " + f"{value:.1f}".removesuffix(".0")


def in_minutes(value: float) -> str:
    """A length of time: "1 minute", "2.5 minutes"."""
    number = f"{value:.1f}".removesuffix(".0")
    return counted(number, "minute")


def warmth(celsius: float) -> str:
    """A temperature in both units: "68 °F (20 °C)"."""
    return f"{c_to_f(celsius):.0f} °F ({celsius:.0f} °C)"


def mass(kilograms: float) -> str:
    """A mass in both units: "1.5 oz (43 g)"."""
    return f"{float(f'{kilograms / KG_PER_OZ:.2g}'):g} oz ({float(f'{kilograms * 1e3:.2g}'):g} g)"
