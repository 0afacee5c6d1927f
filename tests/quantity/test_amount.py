"""Amounts as text: what is accepted, to which SI value, and what is refused with what words."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldvoice.quantity.amount import amount_si, read_amount, step_si
from fieldvoice.quantity.constants import PA_PER_ATM
from fieldvoice.quantity.errors import ReadingError
from fieldvoice.quantity.units import SI_UNITS, UNITS


@pytest.mark.parametrize(
    ("text", "dimension", "si"),
    # factors of NIST SP 811 Appendix B.8
    [
        ("500um", "pressure", 66.6612), ("500 microns", "pressure", 66.6612),
        ("500 µm", "pressure", 66.6612), ("500 \u03bcm", "pressure", 66.6612),
        ("500 mTorr", "pressure", 66.6612), ("1 micron", "pressure", 0.1333224),
        ("1.2torr", "pressure", 159.9868), ("100 Pa", "pressure", 100.0),
        ("0psig", "pressure", PA_PER_ATM), ("14.69595psia", "pressure", PA_PER_ATM),
        ("450psig", "pressure", 450 * 6894.757 + PA_PER_ATM), ("3.8MPag", "pressure", 3_901_325.0),
        ("28barg", "pressure", 2_901_325.0), ("28 bar gauge", "pressure", 2_901_325.0),
        ("29.9 inHgvac", "pressure", 72.0), ("29.9 inHg vacuum", "pressure", 72.0),
        ("65F", "temperature", 291.4833), ("18C", "temperature", 291.15),
        ("65 °F", "temperature", 291.4833), ("65 degrees Fahrenheit", "temperature", 291.4833),
        ("300K", "temperature", 300.0), ("-40F", "temperature", 233.15),
        ("\u221240F", "temperature", 233.15),
        ("10F", "temperature difference", 5.55556), ("5K", "temperature difference", 5.0),
        ("25ft", "length", 7.62), ("25'", "length", 7.62), ('9"', "length", 0.2286),
        ("0.375in", "length", 0.009525), (".375in", "length", 0.009525),
        ("1,000 ft", "length", 304.8), ("1e3ft", "length", 304.8), ("30 cm", "length", 0.3),
        ("0.6oz/ft", "mass per length", 0.0558061), ("15g/m", "mass per length", 0.015),
        ("1 kg/m", "mass per length", 1.0), ("1 pounds / foot", "mass per length", 1.488164),
        ("5L", "volume", 0.005), ("1gal", "volume", 3.785412e-3),
        ("5cfm", "flow", 2.359737e-3), ("3 L/min", "flow", 5e-5), ("1m3/s", "flow", 1.0),
        ("8 m³/h", "flow", 2.222222e-3),
        ("10min", "time", 600.0), ("1h", "time", 3600.0), ("1 day", "time", 86_400.0),
        ("13.5oz", "mass", 0.3827186), ("500mg", "mass", 5e-4), ("1%", "ratio", 0.01),
    ],
)
def test_texts_become_si(text: str, dimension: str, si: float) -> None:
    tolerance = 2.0 if "inHg" in text else 1e-5 * abs(si)
    assert amount_si("value", text, dimension) == pytest.approx(si, abs=tolerance)


@pytest.mark.parametrize(("text", "si"), [("28bar", 2.8e6), ("29.92 inHg", 101_320.7)])
def test_a_scale_without_its_zero_is_absolute_where_that_is_meant(text: str, si: float) -> None:
    assert amount_si("value", text, "pressure") == pytest.approx(si, abs=1)
    with pytest.raises(ReadingError, match="does not say its zero"):
        amount_si("value", text, "pressure", zero_said=True)


def test_a_number_alone_is_in_the_default_unit() -> None:
    assert amount_si("p", "500", "pressure", default_unit="um") == pytest.approx(66.6612, abs=1e-4)


def test_gauge_pressure_counts_from_the_air_it_was_read_in() -> None:
    assert amount_si("p", "0psig", "pressure", atmosphere_pa=84_000.0) == pytest.approx(84_000.0)
    assert amount_si("p", "14psia", "pressure", atmosphere_pa=84_000.0) == pytest.approx(
        14 * 6894.757, rel=1e-6
    )


def test_the_value_stays_exact() -> None:
    found = read_amount("p", "1,250.10 microns", "pressure")
    assert (str(found.value), found.unit.name) == ("1250.10", "microns")


@pytest.mark.parametrize(
    ("text", "pascal"),
    [("1", 6894.757), ("1psi", 6894.757), ("2 psig", 13_789.51), ("0.1 bar", 1e4), ("5um", 0.6666)],
)
def test_a_step_of_a_gauge_needs_no_zero(text: str, pascal: float) -> None:
    assert step_si("resolution", text, "pressure", default_unit="psi") == pytest.approx(
        pascal, rel=1e-4
    )


@pytest.mark.parametrize(
    ("text", "dimension", "message"),
    [
        ("450psi", "pressure", "psig or psia"), ("28bar", "pressure", "barg or bara"),
        ("29.9inHg", "pressure", "inHgvac or inHga"), ("3 kPa", "pressure", "kPag or kPaa"),
        ("450", "pressure", "without a unit: add one of um, torr"),
        ("", "pressure", "write a number"), ("abc", "pressure", "write a number"),
        ("1e999um", "pressure", "too large"), ("1e9999999999999999999um", "pressure", "too large"),
        ("-5um", "pressure", "below absolute zero"),
        ("-500F", "temperature", "below absolute zero"), ("65ft", "temperature", "use F, C, K"),
        ("5 furlongs", "length", "not known as a length; use ft, in, m, cm, mm"),
        ("nan um", "pressure", "write a number"), ("--5um", "pressure", "write a number"),
        ("3/8", "length", "not known"), ("10 degrees", "temperature difference", "not known"),
        ("0.6 oz/psig", "mass per length", "a stroke and one of ft"),
        ("15 ft above the sea", "length", "not known"),
        # a comma is no decimal point: 4,4 is neither 44 nor 4.4 to be guessed at
        ("4,4C", "temperature", "decimals with a point"), ("0,400um", "pressure", "with a point"),
        ("1,00 um", "pressure", "with a point"), ("1,2345um", "pressure", "with a point"),
        ("1234,567um", "pressure", "with a point"), ("1,,000um", "pressure", "with a point"),
    ],
)
def test_unclear_texts_are_refused_with_their_name_and_what_is_permitted(
    text: str, dimension: str, message: str
) -> None:
    with pytest.raises(ReadingError, match=message) as refused:
        amount_si("the value", text, dimension, zero_said=True)
    assert str(refused.value).startswith(f"the value is {text!r}")


NUMBERS = st.decimals(allow_nan=False, allow_infinity=False, min_value=-10**9, max_value=10**9)


@given(NUMBERS, st.sampled_from(sorted(UNITS)), st.sampled_from(["", " ", "  "]), st.booleans())
def test_any_value_with_any_unit_comes_back(
    value: Decimal, name: str, space: str, grouped: bool
) -> None:
    unit = UNITS[name]
    number = f"{value:,f}" if grouped else f"{value:f}"
    found = read_amount("value", f"{number}{space}{unit.screen}", unit.dimension)
    assert (found.value, found.unit) == (value, unit)


PIECES = st.sampled_from([*"0159,.-+e/' \"", "µm", "psig", "in Hg", "°F", "vac", "1e9", "\u2212"])


@given(
    st.one_of(st.text(max_size=30), st.lists(PIECES, max_size=9).map("".join)),
    st.sampled_from(sorted(SI_UNITS)), st.booleans(),
)
def test_any_text_gives_a_finite_value_or_a_reason(
    text: str, dimension: str, zero_said: bool
) -> None:
    reason, si = "", 0.0
    try:
        si = amount_si("value", text, dimension, zero_said=zero_said)
    except ReadingError as error:
        reason = str(error)
    assert abs(si) < float("inf")
    assert reason.startswith(f"value is {text!r}") if reason else any(c.isdigit() for c in text)
