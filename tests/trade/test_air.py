"""Air side and boiling point against ASHRAE-based and standard values."""

from __future__ import annotations

import pytest

from fieldvoice.quantity import constants
from fieldvoice.trade.air import atmosphere, coil
from fieldvoice.trade.errors import TradeError


def test_water_boils_at_212_f_at_sea_level() -> None:
    # IAPWS: 99.974 C at 101325 Pa
    assert atmosphere.boiling_point_k() - 273.15 == pytest.approx(99.974, abs=0.001)


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


def test_heat_removed_agrees_with_a_second_library() -> None:
    # CoolProp humid air: enthalpy and volume per kg of dry air, J/kg and m3/kg
    humid = pytest.importorskip("CoolProp.HumidAirProp")
    room, coil_air = ((75, 63), (55, 54))
    flow = 400 * constants.M3_PER_S_PER_CFM

    def of(what: str, state: tuple[float, float]) -> float:
        dry, wet = map(constants.f_to_k, state)
        return float(humid.HAPropsSI(what, "T", dry, "B", wet, "P", 101_325))

    found = coil.air_split(
        constants.f_to_k(75), constants.f_to_k(63), constants.f_to_k(55),
        supply_wet_k=constants.f_to_k(54), airflow_m3_per_s=flow,
    )
    dry_air = flow / of("Vda", room)
    assert found.total_w == pytest.approx(
        dry_air * (of("Hda", room) - of("Hda", coil_air)), rel=0.01)
    heat = dry_air * of("cp", room)  # J a second and K, of the moist air a kg of dry air carries
    assert found.sensible_w == pytest.approx(heat * 20 / 1.8, rel=0.01)
    assert found.to_dict()["split_f"] == pytest.approx(20.0)
    assert found.returned.to_dict()["pressure_pa"] == 101_325


def test_without_airflow_no_heat_is_claimed() -> None:
    found = coil.air_split(constants.f_to_k(75), constants.f_to_k(63), constants.f_to_k(55))
    assert (found.total_w, found.sensible_w, found.supplied) == (None, None, None)
    by_flow = coil.air_split(constants.f_to_k(75), constants.f_to_k(63), constants.f_to_k(55),
                             airflow_m3_per_s=0.2)
    assert by_flow.total_w is None
    assert by_flow.sensible_w is not None


@pytest.mark.parametrize(
    ("supply_f", "words"),
    # 15 to 23 F is usual (common practice)
    [(76.0, "not cooler"), (75.0, "not cooler"), (74.5, "small"), (60.5, "small"), (59.5, "usual"),
     (52.5, "usual"), (51.5, "large")],
)
def test_the_split_is_judged_by_the_usual_one(supply_f: float, words: str) -> None:
    found = coil.air_split(constants.f_to_k(75), constants.f_to_k(63), constants.f_to_k(supply_f))
    assert words in found.reason
    assert f"{75 - supply_f:.1f} °F" in found.reason


@pytest.mark.parametrize(
    ("dry", "wet", "pa", "what"),
    [(249, 249, 101_325, "dry bulb"), (341, 300, 101_325, "dry bulb"),
     (250.5, 249.9, 101_325, "wet bulb is 249.9 K"), (339, 341, 101_325, "wet bulb"),
     (300, 290, 49_000, "barometric"), (300, 290, 111_000, "barometric")],
)
def test_air_where_nobody_works_is_refused(dry: float, wet: float, pa: float, what: str) -> None:
    with pytest.raises(TradeError, match=what):
        coil.moist_air(dry, wet, pa)


@pytest.mark.parametrize(("supply_k", "flow", "what"), [(249.0, None, "supply temperature"),
                                                        (341.0, None, "supply temperature"),
                                                        (290.0, 0.0, "airflow")])
def test_a_supply_that_cannot_be_is_refused(
    supply_k: float, flow: float | None, what: str
) -> None:
    with pytest.raises(TradeError, match=what):
        coil.air_split(297.0, 290.0, supply_k, airflow_m3_per_s=flow)


def test_saturated_air_is_air() -> None:
    # wet bulb equal to dry bulb: 100 % relative humidity, dew point the same
    found = coil.moist_air(290.0, 290.0)
    assert found.relative_humidity == pytest.approx(1.0, abs=1e-3)
    assert found.dew_point_k == pytest.approx(290.0, abs=0.02)


def test_heat_removed_at_other_airs_agrees_with_a_second_library() -> None:
    # CoolProp humid air (real gas): 900 cfm at 80 F dry, 67 F wet, to 58 F dry, 56 F wet
    humid = pytest.importorskip("CoolProp.HumidAirProp").HAPropsSI
    dry, wet, cold, cold_wet = (constants.f_to_k(f) for f in (80, 67, 58, 56))
    flow = 900 * constants.M3_PER_S_PER_CFM
    found = coil.air_split(dry, wet, cold, supply_wet_k=cold_wet, airflow_m3_per_s=flow)
    dry_air = flow / humid("V", "T", dry, "B", wet, "P", 101_325)
    heat = humid("cp", "T", dry, "B", wet, "P", 101_325)  # J/K for each kg of dry air
    assert found.sensible_w == pytest.approx(dry_air * heat * (dry - cold), rel=0.005)
    drop = humid("H", "T", dry, "B", wet, "P", 101_325) - humid(
        "H", "T", cold, "B", cold_wet, "P", 101_325)
    assert found.total_w == pytest.approx(dry_air * drop, rel=0.005)
    assert found.airflow_m3_per_s == flow
    assert (found.supply_k, found.supplied is None) == (cold, False)
    assert found.to_dict()["split_f"] == pytest.approx(22.0)


def test_heat_is_told_only_as_far_as_it_is_known() -> None:
    dry, wet, cold = (constants.f_to_k(f) for f in (75, 63, 55))
    still = coil.air_split(dry, wet, cold, supply_wet_k=constants.f_to_k(54))
    assert (still.sensible_w, still.total_w) == (None, None)
    blown = coil.air_split(dry, wet, cold, airflow_m3_per_s=0.2)
    assert blown.sensible_w is not None
    assert blown.total_w is None


@pytest.mark.parametrize(
    ("split", "words"),
    # 15 to 23 F in cooling: common practice
    [(-1, "not cooler"), (0, "not cooler"), (0.5, "small"), (14.9, "small"), (15, "usual"),
     (23, "usual"), (23.1, "large")],
)
def test_the_split_is_called_by_its_size(split: float, words: str) -> None:
    found = coil.air_split(constants.f_to_k(75), constants.f_to_k(63), constants.f_to_k(75 - split))
    assert words in found.reason
    assert f"The split is {split:.1f} °F" in found.reason


@pytest.mark.parametrize("altitude_m", [0.0, 1609.3])
def test_moist_air_follows_the_barometer(altitude_m: float) -> None:
    humid = pytest.importorskip("CoolProp.HumidAirProp").HAPropsSI
    dry, wet = constants.f_to_k(80), constants.f_to_k(67)
    # US Standard Atmosphere 1976: 83.4 kPa at a mile (from memory)
    air = 101_325.0 if altitude_m == 0 else 83_400.0
    found = coil.moist_air(dry, wet, air)
    assert found.volume_m3_per_kg == pytest.approx(
        humid("V", "T", dry, "B", wet, "P", air), rel=3e-3)
    assert found.humidity_ratio == pytest.approx(
        humid("W", "T", dry, "B", wet, "P", air), rel=0.01)
    assert (found.dry_bulb_k, found.wet_bulb_k, found.pressure_pa) == (dry, wet, air)
    # of the freezing point upward an enthalpy of 80 F, 67 F air at sea level is 31.6 Btu/lb less
    # 7.7 (0 F to 0 C): ASHRAE Fundamentals counts SI enthalpies from 0 C (CoolProp: the same)
    assert found.enthalpy_j_per_kg == pytest.approx(
        humid("H", "T", dry, "B", wet, "P", air), rel=0.005)


@pytest.mark.parametrize(
    ("dry", "wet", "air", "message"),
    [(249.9, 249.0, 101_325, "dry bulb"), (340.1, 300, 101_325, "dry bulb"),
     (300, 249.9, 101_325, "wet bulb"), (300, 340.1, 101_325, "wet bulb"),
     (300, 290, 49_999, "barometric"), (300, 290, 110_001, "barometric")],
)
def test_air_that_no_job_meets_is_refused(
    dry: float, wet: float, air: float, message: str
) -> None:
    with pytest.raises(TradeError, match=f"{message}.*permitted range"):
        coil.moist_air(dry, wet, air)


def test_the_widest_air_is_taken() -> None:
    assert coil.moist_air(250.0, 250.0).relative_humidity == pytest.approx(1.0, abs=0.01)
    assert coil.moist_air(340.0, 340.0, 110_000).relative_humidity == pytest.approx(1.0, abs=0.01)
    assert coil.moist_air(300.0, 290.0, 50_000).pressure_pa == 50_000


@pytest.mark.parametrize("supply", [249.9, 340.1])
def test_a_supply_temperature_that_no_coil_gives_is_refused(supply: float) -> None:
    with pytest.raises(TradeError, match="supply temperature"):
        coil.air_split(300.0, 290.0, supply)
    assert coil.air_split(300.0, 290.0, 250.0).split_k == pytest.approx(50.0)
    assert coil.air_split(300.0, 290.0, 340.0).split_k == pytest.approx(-40.0)


def test_water_boils_lower_up_high() -> None:
    # 95.0 C at 5,000 ft (83.3 kPa; steam tables, from memory 94.9 to 95.0)
    assert atmosphere.boiling_point_k(1524.0) - 273.15 == pytest.approx(95.0, abs=0.15)


@pytest.mark.parametrize(
    ("dry", "wet", "message"),
    [(75, 80, "permitted range at 75.0 F dry bulb"),
     # CoolProp humid air: bone-dry air of 110 F has a wet bulb of 60.4 F
     (110, 35, "is 35.0 F: permitted range at 110.0 F dry bulb is 60 to 110.0 F"),
     (-60, -60, "permitted range")],
)
def test_impossible_air_is_refused(dry: float, wet: float, message: str) -> None:
    with pytest.raises(TradeError, match=message):
        coil.moist_air(constants.f_to_k(dry), constants.f_to_k(wet))
