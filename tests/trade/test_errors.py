"""What a refused input is told: the value, the range, and both in the units of the trade."""

from __future__ import annotations

import math

import pytest

from fieldvoice.trade.errors import (
    TradeError,
    require_between,
    require_finite,
    require_positive,
)


@pytest.mark.parametrize(
    ("unit", "value", "low", "high", "words"),
    # NIST SP 811 factors: 1 ft = 0.3048 m, 1 cfm = 4.719474e-4 m3/s, 1 oz = 28.34952 g,
    # 1 psi = 6894.757 Pa, 1 micron of mercury = 0.1333224 Pa, F = 1.8 C + 32
    [
        ("K", 400.0, 273.15, 310.928,
         "x is 400 K (260.33 F): permitted range is 273.15 to 310.928 K (32 to 100 F)"),
        ("C", 50.0, 0.0, 40.0, "x is 50 C (122 F): permitted range is 0 to 40 C (32 to 104 F)"),
        ("m", 60.0, 0.0, 30.48, "x is 60 m (196.85 ft): permitted range is 0 to 30.48 m "
                                "(0 to 100 ft)"),
        ("m3", 3.0, 0.0, 2.0, "x is 3 m3 (3000 L): permitted range is 0 to 2 m3 (0 to 2000 L)"),
        ("m3/s", 0.004719474, 0.0, 0.002359737, "(10 cfm): permitted range is 0 to 0.00235974 "
                                                "m3/s (0 to 5 cfm)"),
        ("kg", 1.0, 0.0, 0.5669905, "(35.274 oz): permitted range is 0 to 0.56699 kg "
                                    "(0 to 20 oz)"),
        ("s", 1200.0, 0.0, 600.0, "x is 1200 s (20 minutes): permitted range is 0 to 600 s "
                                  "(0 to 10 minutes)"),
        ("Pa", 7.5e6, 0.0, 6.894757e6, "(1087.78 psia): permitted range is 0 to 6.89476e+06 Pa "
                                       "(0 to 1000 psia)"),
        ("Pa", 100.0, 0.0, 66.66119, "x is 100 Pa (750.062 microns): permitted range is 0 to "
                                     "66.6612 Pa (0 to 500 microns)"),
        # a vacuum gauge reads from about 13,000 Pa down (97,500 microns)
        ("Pa", 13_100.0, 0.0, 12_900.0, "x is 13100 Pa (1.89999 psia): permitted range is 0 to "
                                        "12900 Pa (0 to 96757.9 microns)"),
        ("Pa", 13_000.0, 0.0, 1.0, "x is 13000 Pa (1.88549 psia)"),
        ("", 5.0, 1.0, 4.0, "x is 5: permitted range is 1 to 4"),
        ("ohm", 5.0, 1.0, 4.0, "x is 5 ohm: permitted range is 1 to 4 ohm"),
    ],
)
def test_a_value_out_of_range_is_told_in_the_units_of_the_trade(
    unit: str, value: float, low: float, high: float, words: str
) -> None:
    with pytest.raises(TradeError) as refused:
        require_between("x", value, low, high, unit)
    assert words in str(refused.value)
    assert str(refused.value).endswith((")", unit)) or not unit


def test_ends_of_a_range_belong_to_it() -> None:
    assert require_between("x", 1.0, 1.0, 2.0) == 1.0
    assert require_between("x", 2.0, 1.0, 2.0) == 2.0
    assert require_finite("x", -3.5) == -3.5
    assert require_positive("x", 1e-12) == 1e-12


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_no_number_is_told_so(value: float) -> None:
    with pytest.raises(TradeError, match=r"^x is not a number \(in Pa\): give a finite value$"):
        require_positive("x", value, "Pa")
    with pytest.raises(TradeError, match=r"^x is not a number: give a finite value$"):
        require_between("x", value, 0.0, 1.0)


@pytest.mark.parametrize("value", [0.0, -2.0])
def test_nothing_and_less_is_not_above_zero(value: float) -> None:
    with pytest.raises(TradeError, match=rf"^x is {value:g} m3 \(.* L\): it must be above zero$"):
        require_positive("x", value, "m3")
