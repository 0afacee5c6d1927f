"""Water and ice vapour pressures against IAPWS check values and the iapws library."""

from __future__ import annotations

import pytest

from fieldvoice.quantity.constants import f_to_k, k_to_f, microns
from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.vacuum import water


def test_sublimation_meets_the_published_check_value() -> None:
    # IAPWS R14-08: p_subl(230 K) = 8.94735 Pa
    assert water.ice_pressure_pa(230.0) == pytest.approx(8.94735, rel=1e-6)


def test_both_curves_meet_at_the_triple_point() -> None:
    # IAPWS R14-08: 273.16 K, 611.657 Pa
    assert water.ice_pressure_pa(273.16) == pytest.approx(611.657, rel=1e-9)
    assert water.liquid_pressure_pa(273.16) == pytest.approx(611.657, rel=1e-5)


@pytest.mark.parametrize("celsius", [0.5, 5, 10, 15, 20, 25, 30, 40, 60, 100, 200])
def test_liquid_agrees_with_iapws_if97(celsius: float) -> None:
    # IAPWS R7-97 saturation line through the iapws library
    iapws97 = pytest.importorskip("iapws.iapws97")
    kelvin = celsius + 273.15
    assert water.liquid_pressure_pa(kelvin) == pytest.approx(
        iapws97._PSat_T(kelvin) * 1e6, rel=1e-3
    )


@pytest.mark.parametrize("celsius", [-80, -40, -30, -20, -10, -5, -0.1])
def test_ice_agrees_with_iapws_sublimation(celsius: float) -> None:
    # IAPWS R14-08 through the iapws library
    library = pytest.importorskip("iapws._iapws")
    kelvin = celsius + 273.15
    assert water.ice_pressure_pa(kelvin) == pytest.approx(
        library._Sublimation_Pressure(kelvin) * 1e6, rel=1e-6
    )


@pytest.mark.parametrize(
    ("celsius", "expected_microns"),
    # computed with the iapws library (SR1-86 liquid, R14-08 ice)
    [(-40, 96.3), (-20, 774.4), (0, 4584.0), (5, 6545), (20, 17546), (40, 55392)],
)
def test_microns_at_common_temperatures(celsius: float, expected_microns: float) -> None:
    found = microns(water.vapour_pressure_pa(celsius + 273.15))
    assert found == pytest.approx(expected_microns, rel=5e-4)


def test_printed_table_at_30_c() -> None:
    # Nebergall, General Chemistry (1976), vapour pressure table: 31.8 mmHg at 30 C
    assert microns(water.vapour_pressure_pa(303.15)) / 1000 == pytest.approx(31.8, abs=0.1)


def test_500_microns_is_ice_near_minus_12_f() -> None:
    # inverse computed with the iapws library: -12.06 F, and it is ice, not water
    pressure_pa = 500 * 0.133322387
    assert k_to_f(water.temperature_at_k(pressure_pa)) == pytest.approx(-12.06, abs=0.02)
    assert water.phase_for(pressure_pa) == "ice"


@pytest.mark.parametrize(
    ("kelvin", "pascal", "phase", "source"),
    # IAPWS R14-08: triple point 273.16 K, 611.657 Pa
    [(273.15, 611.6, "ice", "R14-08"), (273.16, 611.657, "liquid", "SR1-86"),
     (273.17, 611.7, "liquid", "SR1-86")],
)
def test_ice_below_the_triple_point(
    kelvin: float, pascal: float, phase: str, source: str
) -> None:
    assert water.phase_at(kelvin) == phase
    assert water.phase_for(pascal) == phase
    assert source in water.source_of(phase)


@pytest.mark.parametrize("fahrenheit", [-40.0, -12.06, 14.0, 32.0, 32.1, 68.0, 100.0])
def test_inverse_undoes_the_curve(fahrenheit: float) -> None:
    kelvin = f_to_k(fahrenheit)
    assert water.temperature_at_k(water.vapour_pressure_pa(kelvin)) == pytest.approx(
        kelvin, abs=1e-6
    )


@pytest.mark.parametrize("kelvin", [-1.0, 0.0, 49.0, 700.0, float("nan")])
def test_temperatures_outside_the_formulas_are_refused(kelvin: float) -> None:
    with pytest.raises(TradeError, match="temperature"):
        water.vapour_pressure_pa(kelvin)


def test_the_inverse_reaches_from_100_k_to_the_critical_point() -> None:
    # IAPWS R14-08 through the iapws library, below what a gauge shows; IAPWS SR1-86: 22.064 MPa
    library = pytest.importorskip("iapws._iapws")
    coldest = library._Sublimation_Pressure(100.1) * 1e6
    assert water.temperature_at_k(coldest) == pytest.approx(100.1, abs=1e-3)
    assert water.temperature_at_k(22.064e6) == pytest.approx(647.096, abs=1e-6)
    with pytest.raises(TradeError, match="permitted range"):
        water.temperature_at_k(library._Sublimation_Pressure(99.9) * 1e6)


def test_each_curve_stops_where_its_release_does() -> None:
    # IAPWS R14-08: 50 K to 273.16 K; SR1-86: to 647.096 K
    for kelvin in (49.9, 273.17):
        with pytest.raises(TradeError, match="ice temperature"):
            water.ice_pressure_pa(kelvin)
    with pytest.raises(TradeError, match="water temperature"):
        water.liquid_pressure_pa(647.2)
    assert water.ice_pressure_pa(50.0) < 1e-30
    assert water.liquid_pressure_pa(647.096) == pytest.approx(22.064e6, rel=1e-9)


@pytest.mark.parametrize("pressure_pa", [-5.0, 0.0, 3e7])
def test_pressures_water_cannot_have_are_refused(pressure_pa: float) -> None:
    with pytest.raises(TradeError, match="permitted range"):
        water.temperature_at_k(pressure_pa)


def test_liquid_below_freezing_is_refused_not_extrapolated() -> None:
    with pytest.raises(TradeError, match="permitted range"):
        water.liquid_pressure_pa(263.15)
