"""The place of a job from plain text, and the air there against the standard's own formula."""

import pytest

from fieldvoice.quantity.errors import ReadingError
from fieldvoice.quantity.site import atmosphere_at, site_from


# U.S. Standard Atmosphere 1976 as tabled in ASHRAE Fundamentals 2017 ch. 1 Table 1 (from memory)
@pytest.mark.parametrize(
    ("altitude_m", "pressure_pa"),
    [
        (-500, 107_478), (0, 101_325), (500, 95_461),
        (1000, 89_875), (4000, 61_640), (10_000, 26_436),
    ],
)
def test_pressure_falls_with_altitude_as_in_the_standard_atmosphere(altitude_m, pressure_pa):
    assert atmosphere_at(altitude_m) == pytest.approx(pressure_pa, abs=1)


def test_the_air_is_that_of_the_standard_within_a_fifth_of_a_pascal():
    # ISO 2533 and US Standard Atmosphere 1976, lowest layer: p0 (1 - L h / T0) ^ (g / (R L))
    exponent = 9.806_65 / (287.052_87 * 0.0065)
    for altitude_m in range(-610, 11_001, 10):
        expected = 101_325 * (1 - 0.0065 * altitude_m / 288.15) ** exponent
        assert atmosphere_at(altitude_m) == pytest.approx(expected, abs=0.2)


SITES = [
    ({}, 101_325.0), ({"atmosphere": "29.92 inHg"}, 101_320.7),
    ({"atmosphere": "1013 mbar"}, 101_300.0),
    ({"altitude": "5,280 ft"}, 83_428.0), ({"altitude": "1609.344 m", "customer": "x"}, 83_428.0),
    ({"atmosphere": "14.7psia"}, 101_353.0),
]  # fmt: skip


@pytest.mark.parametrize(("told", "air"), SITES)
def test_the_site_is_read_from_plain_text(told, air):
    assert site_from(told).atmosphere_pa == pytest.approx(air, abs=1)


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({"atmosphere": "29.92"}, "site, atmosphere"),
        ({"atmosphere": "0 psig"}, "absolute pressure"),
        ({"atmosphere": "nan Pa"}, "write a number and a unit"),
        ({"atmosphere": "29.9 inHg vacuum"}, "absolute pressure"),
        ({"atmosphere": "14.7 psi"}, "does not say its zero"),
        ({"atmosphere": "29,92 inHg"}, "decimals with a point"),
        ({"atmosphere": "29.92 Pa"}, "between 15,000 and 110,000 Pa"),
        ({"altitude": "high"}, "site, altitude"),
        ({"altitude": "90000 ft"}, "altitude is 27432 m: permitted range is -610 to 11000 m"),
        ({"temperature-unit": "K"}, "give degF or degC"),
    ],
)
def test_a_site_that_cannot_be_is_refused(told, words):
    with pytest.raises(ReadingError, match=words):
        site_from(told)
