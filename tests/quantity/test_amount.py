"""Units on the command line: what is accepted, and what is refused."""

from __future__ import annotations

import pytest

from fieldvoice.quantity.amount import measure
from fieldvoice.quantity.constants import PA_PER_ATM
from fieldvoice.trade.errors import TradeError


@pytest.mark.parametrize(
    ("text", "kind", "si"),
    # factors of NIST SP 811 Appendix B.8
    [
        ("500um", "pressure", 66.6612), ("500 microns", "pressure", 66.6612),
        ("1.2torr", "pressure", 159.9868), ("100 Pa", "pressure", 100.0),
        ("0psig", "pressure", PA_PER_ATM), ("14.69595psia", "pressure", PA_PER_ATM),
        ("450psig", "pressure", 450 * 6894.757 + PA_PER_ATM), ("3.8MPag", "pressure", 3_901_325.0),
        ("28barg", "pressure", 2_901_325.0), ("29.9 inHgvac", "pressure", 72.0),
        ("65F", "temperature", 291.4833), ("18C", "temperature", 291.15),
        ("300K", "temperature", 300.0), ("-40F", "temperature", 233.15),
        ("10F", "temperature difference", 5.55556), ("25ft", "length", 7.62),
        ("3/8", "length", None), ("0.375in", "length", 0.009525), ("1,000 ft", "length", 304.8),
        ("0.6oz/ft", "mass per length", 0.0558061), ("15g/m", "mass per length", 0.015),
        ("5L", "volume", 0.005), ("5cfm", "flow", 2.359737e-3), ("10min", "time", 600.0),
        ("1h", "time", 3600.0), ("13.5oz", "mass", 0.3827186),
    ],
)
def test_texts_become_si(text: str, kind: str, si: float | None) -> None:
    if si is None:
        with pytest.raises(TradeError):
            measure("length", text, kind)
        return
    tolerance = 2.0 if "inHg" in text else 1e-5 * abs(si)
    assert measure("value", text, kind) == pytest.approx(si, abs=tolerance)


@pytest.mark.parametrize(
    ("text", "kind", "printed"),
    # NIST SP 811 Appendix B.8, to the last digit printed
    [
        ("1psia", "pressure", "6.894757e+03"), ("1inHga", "pressure", "3.386389e+03"),
        ("1torr", "pressure", "1.333224e+02"), ("1mmHg", "pressure", "1.333224e+02"),
        ("1bara", "pressure", "1.000000e+05"), ("1mbar", "pressure", "1.000000e+02"),
        ("1ft", "length", "3.048000e-01"), ("1in", "length", "2.540000e-02"),
        ("1oz", "mass", "2.834952e-02"), ("1lb", "mass", "4.535924e-01"),
        ("1cfm", "flow", "4.719474e-04"), ("1ft3", "volume", "2.831685e-02"),
        ("1in3", "volume", "1.638706e-05"), ("1gal", "volume", "3.785412e-03"),
    ],
)
def test_conversions_are_nists_to_the_last_digit(text: str, kind: str, printed: str) -> None:
    assert f"{measure('value', text, kind):.6e}" == printed


def test_gauge_pressure_counts_from_the_air_it_was_read_in() -> None:
    assert measure("p", "0psig", "pressure", atmosphere_pa=84_000.0) == pytest.approx(84_000.0)
    assert measure("p", "14psia", "pressure", atmosphere_pa=84_000.0) == pytest.approx(
        14 * 6894.757, rel=1e-6
    )


@pytest.mark.parametrize(
    ("text", "kind", "message"),
    [
        ("450psi", "pressure", "psig or psia"), ("28bar", "pressure", "barg or bara"),
        ("29.9inHg", "pressure", "inHgvac or inHga"), ("450", "pressure", "without a unit"),
        ("", "pressure", "write a number"), ("abc", "pressure", "write a number"),
        ("1e999um", "pressure", "too large"), ("-5um", "pressure", "below absolute zero"),
        ("-500F", "temperature", "below absolute zero"), ("65ft", "temperature", "not known"),
        ("5 furlongs", "length", "not known"), ("nan um", "pressure", "write a number"),
        ("--5um", "pressure", "write a number"),
    ],
)
def test_unclear_texts_are_refused(text: str, kind: str, message: str) -> None:
    with pytest.raises(TradeError, match=message):
        measure("value", text, kind)
