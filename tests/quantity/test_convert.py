"""Values to SI and back, against the published factors of every unit that has one."""

import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldvoice.quantity.convert import from_si, one_in_si, to_si
from fieldvoice.quantity.errors import ReadingError
from fieldvoice.quantity.units import UNITS

# NIST Special Publication 811 (2008), Appendix B.8, as printed: 7 significant digits.
SP_811 = [
    ("psia", 6.894757e3), ("inHg", 3.386389e3), ("mmHg", 1.333224e2), ("torr", 1.333224e2),
    ("microns", 1.333224e-1), ("bar", 1.0e5), ("mbar", 1.0e2), ("kPa", 1.0e3), ("MPa", 1.0e6),
    ("cfm", 4.719474e-4), ("ft", 3.048e-1), ("in", 2.54e-2), ("oz", 2.834952e-2),
    ("lb", 4.535924e-1), ("ft-lb", 1.355818), ("ft3", 2.831685e-2), ("in3", 1.638706e-5),
    ("delta-degF", 5.555556e-1), ("h", 3.6e3), ("m3/h", 2.777778e-4),
    ("inH2O", 2.490889e2),  # "inch of water, conventional"
]  # fmt: skip


@pytest.mark.parametrize(("unit", "factor"), SP_811)
def test_factors_are_those_of_nist_sp_811(unit, factor):
    assert to_si(1, unit) == pytest.approx(factor, rel=5e-7)


@pytest.mark.parametrize(
    ("value", "unit", "kelvin"),
    [(32, "degF", 273.15), (212, "degF", 373.15), (-40, "degC", 233.15), (-40, "degF", 233.15)],
)
def test_temperatures_follow_the_definition_of_both_scales(value, unit, kelvin):
    # NIST SP 811 B.8: T/K = (t/°F + 459.67)/1.8
    assert to_si(value, unit) == pytest.approx(kelvin, abs=1e-9)


def test_one_inch_of_mercury_is_25_400_microns():
    assert to_si(1, "inHg") == pytest.approx(to_si(25_400, "microns"), rel=1e-12)


def test_the_standard_atmosphere_is_760_torr_and_29_9213_inches():
    # NIST SP 811 B.8: 101 325 Pa exactly; the torr is 1/760 of it
    assert from_si(101_325.0, "torr") == pytest.approx(760, rel=1e-12)
    assert from_si(101_325.0, "inHg") == pytest.approx(29.92126, abs=5e-6)
    assert from_si(101_325.0, "psia") == pytest.approx(14.69595, abs=5e-6)


@given(
    st.sampled_from(sorted(UNITS)),
    st.floats(-1e6, 1e6, allow_subnormal=False),
    st.floats(60_000, 105_000),
)
def test_every_unit_comes_back_from_si_as_it_went_in(unit, value, air):
    back = from_si(to_si(value, unit, air), unit, air)
    one = one_in_si(unit)
    assert back == pytest.approx(value, rel=1e-9, abs=1e-9 * max(1.0, air / one))


@pytest.mark.parametrize(
    ("unit", "words"),
    [("psi", "psig or psia"), ("pounds", "more than one unit"), ("um", "unknown unit 'um'")],
)
def test_conversion_refuses_units_that_say_too_little(unit, words):
    with pytest.raises(ReadingError, match=words):
        to_si(1.0, unit)


def test_importing_the_quantities_leaves_the_unit_library_for_later():
    code = "import sys, fieldvoice.quantity.plausible; sys.exit('pint' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
