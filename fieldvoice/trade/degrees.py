"""Temperatures in words, in the degrees that a site works in: "degF" or "degC"."""

from __future__ import annotations

from fieldvoice.quantity.constants import KELVIN_AT_0_C, k_to_f

FAHRENHEIT = "degF"
_SIGN = {FAHRENHEIT: "°F", "degC": "°C"}


def temperature(kelvin: float, unit: str = FAHRENHEIT) -> str:
    """To a whole degree: "65 °F", "18 °C"."""
    value = k_to_f(kelvin) if unit == FAHRENHEIT else kelvin - KELVIN_AT_0_C
    return f"{value:.0f} {_SIGN[unit]}"


def difference(fahrenheit: float, unit: str = FAHRENHEIT) -> str:
    """A difference of F degrees to a tenth: "12.0 °F", "6.7 °C"."""
    return f"{figure(fahrenheit, unit)} {_SIGN[unit]}"


def figure(fahrenheit: float, unit: str = FAHRENHEIT) -> str:
    """A difference of F degrees to a tenth, without its unit."""
    value = fahrenheit if unit == FAHRENHEIT else fahrenheit / 1.8
    return f"{value:.1f}"
