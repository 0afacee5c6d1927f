"""Degrees as the site says them; NIST SP 811: t/°C = (t/°F - 32) / 1.8, a difference by 1.8."""

from __future__ import annotations

from decimal import Decimal

import pytest

from fieldvoice.quantity.site import STANDARD, Site
from fieldvoice.quantity.site_units import in_site_unit, say_at

CELSIUS = Site(temperature_unit="degC")


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        ("35", "degF", "1.7 °C"),
        ("32", "degF", "0 °C"),
        ("75", "degF", "23.9 °C"),
        ("10", "delta-degF", "5.6 °C"),
        ("20", "degC", "20 °C"),
        ("300", "microns", "300 microns"),
        ("0", "psig", "0 psig"),
    ],
)
def test_a_celsius_site_says_degrees_in_celsius_and_all_else_as_it_is(
    value: str, unit: str, text: str
) -> None:
    assert say_at(Decimal(value), unit, CELSIUS) == text


def test_a_fahrenheit_site_says_celsius_in_fahrenheit() -> None:
    assert in_site_unit(Decimal("12.8"), "degC", STANDARD) == (Decimal("55.0"), "degF")


def test_an_unknown_unit_is_left_alone() -> None:
    assert in_site_unit(Decimal(3), "furlongs", CELSIUS) == (Decimal(3), "furlongs")
