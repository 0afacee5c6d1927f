"""Degrees in words: NIST SP 811 appendix B, t(F) = 1.8 t(C) + 32."""

from __future__ import annotations

import pytest

from fieldvoice.trade.degrees import difference, figure, temperature


@pytest.mark.parametrize(
    ("kelvin", "fahrenheit", "celsius"),
    [(273.15, "32 °F", "0 °C"), (373.15, "212 °F", "100 °C"), (233.15, "-40 °F", "-40 °C")],
)
def test_a_temperature(kelvin: float, fahrenheit: str, celsius: str) -> None:
    assert temperature(kelvin) == temperature(kelvin, "degF") == fahrenheit
    assert temperature(kelvin, "degC") == celsius


def test_a_difference_has_no_zero_to_move() -> None:
    assert (difference(9.0), difference(9.0, "degC")) == ("9.0 °F", "5.0 °C")
    assert (figure(18.0), figure(18.0, "degC")) == ("18.0", "10.0")


def test_other_degrees_are_refused() -> None:
    with pytest.raises(KeyError):
        temperature(300.0, "degR")
