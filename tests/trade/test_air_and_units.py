"""Air side, atmosphere and conversion constants against NIST, ASHRAE-based and standard values."""

from __future__ import annotations

import pytest

from fieldvoice.quantity import constants
from fieldvoice.trade.air import atmosphere, coil
from fieldvoice.trade.errors import TradeError


@pytest.mark.parametrize(
    ("ours", "printed"),
    # NIST SP 811 Appendix B.8, seven digits
    [(constants.PA_PER_ATM, 1.013_25e5), (constants.PA_PER_MM_HG, 1.333_224e2),
     (constants.PA_PER_IN_HG, 3.386_389e3), (constants.PA_PER_PSI, 6.894_757e3),
     (constants.PA_PER_BAR, 1e5),
     (constants.M_PER_INCH, 2.54e-2), (constants.M_PER_FOOT, 3.048e-1),
     (constants.KG_PER_OZ, 2.834_952e-2),
     (constants.KG_PER_LB, 4.535_924e-1), (constants.M3_PER_S_PER_CFM, 4.719_474e-4)],
)
def test_factors_are_nists_to_the_last_digit(ours: float, printed: float) -> None:
    assert float(f"{ours:.6e}") == printed


def test_500_microns() -> None:
    assert constants.from_microns(500) == pytest.approx(66.6612, abs=5e-5)
    assert constants.microns(66.6612) == pytest.approx(500, abs=1e-3)


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"), [(32, 0), (212, 100), (-40, -40), (68, 20)]  # defining points
)
def test_temperatures_convert(fahrenheit: float, celsius: float) -> None:
    assert constants.f_to_c(fahrenheit) == pytest.approx(celsius)
    assert constants.c_to_f(celsius) == pytest.approx(fahrenheit)
    assert constants.k_to_f(constants.f_to_k(fahrenheit)) == pytest.approx(fahrenheit)


@pytest.mark.parametrize(
    ("metres", "pascal"),
    # US Standard Atmosphere 1976, geopotential altitude (from memory)
    [(0, 101_325), (1000, 89_874.6), (2000, 79_495.2), (3000, 70_108.5)],
)
def test_pressure_falls_with_altitude(metres: float, pascal: float) -> None:
    assert atmosphere.pressure_at_altitude_pa(metres) == pytest.approx(pascal, rel=2e-4)


def test_water_boils_at_212_f_at_sea_level() -> None:
    # IAPWS: 99.974 C at 101325 Pa
    assert atmosphere.boiling_point_k() - 273.15 == pytest.approx(99.974, abs=0.01)


@pytest.mark.parametrize(
    ("reference_in", "expected_microns"), [(30.00, 4572), (29.92126, 2572)]
)
def test_inches_of_vacuum_hang_on_the_reference(
    reference_in: float, expected_microns: float
) -> None:
    # Carrier 17/19EX manual: 29.82 inHg vacuum on a 30-inch barometer; and on a standard one
    found = atmosphere.absolute_from_inches_of_vacuum_pa(
        29.82, reference_in * constants.PA_PER_IN_HG
    )
    assert constants.microns(found) == pytest.approx(expected_microns, abs=1)


def test_inches_of_vacuum_in_split_manuals() -> None:
    # Lennox SPBH4 p. 20: 23,000 microns is 29.01 inHg; on a 29.92 reference
    found = atmosphere.absolute_from_inches_of_vacuum_pa(29.01)
    assert constants.microns(found) == pytest.approx(23_000, abs=200)


def test_moist_air_agrees_with_a_second_library() -> None:
    # CoolProp humid air (real gas) at 80 F dry, 67 F wet: independent of psychrolib
    humid = pytest.importorskip("CoolProp.HumidAirProp")
    dry, wet = constants.f_to_k(80), constants.f_to_k(67)
    found = coil.moist_air(dry, wet)
    ratio = humid.HAPropsSI("W", "T", dry, "B", wet, "P", 101_325)
    assert found.humidity_ratio == pytest.approx(ratio, rel=0.01)
    dew = humid.HAPropsSI("D", "T", dry, "B", wet, "P", 101_325)
    assert found.dew_point_k == pytest.approx(dew, abs=0.2)


def test_rated_return_air() -> None:
    # AHRI 210/240 indoor condition 80 F / 67 F is about 51 % relative humidity (from memory)
    found = coil.moist_air(constants.f_to_k(80), constants.f_to_k(67))
    assert found.relative_humidity == pytest.approx(0.51, abs=0.01)


def test_split_and_heat_removed() -> None:
    # the trade's sensible rule 1.08 x cfm x F (common practice): 1.08 x 400 x 20 = 8640 Btu/h
    found = coil.air_split(
        constants.f_to_k(75), constants.f_to_k(63), constants.f_to_k(55),
        supply_wet_k=constants.f_to_k(54),
        airflow_m3_per_s=400 * constants.M3_PER_S_PER_CFM,
    )
    assert found.split_f == pytest.approx(20.0)
    assert found.sensible_w is not None
    assert found.sensible_w / 0.293071 == pytest.approx(8640, rel=0.03)
    assert found.total_w is not None
    assert found.total_w > found.sensible_w


@pytest.mark.parametrize(
    ("dry", "wet", "message"),
    [(75, 80, "permitted range at 75.0 F dry bulb"),
     (110, 35, "permitted range at 110.0 F dry bulb"), (-60, -60, "permitted range")],
)
def test_impossible_air_is_refused(dry: float, wet: float, message: str) -> None:
    with pytest.raises(TradeError, match=message):
        coil.moist_air(constants.f_to_k(dry), constants.f_to_k(wet))
