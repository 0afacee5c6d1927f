"""Air side and boiling point against ASHRAE-based and standard values."""

from __future__ import annotations

import pytest

from fieldvoice.quantity import constants
from fieldvoice.trade.air import atmosphere, coil
from fieldvoice.trade.errors import TradeError


def test_water_boils_at_212_f_at_sea_level() -> None:
    # IAPWS: 99.974 C at 101325 Pa
    assert atmosphere.boiling_point_k() - 273.15 == pytest.approx(99.974, abs=0.01)


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
