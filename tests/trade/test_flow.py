"""Tubes, conductance, effective speed, sweeps, freezing and cores against textbook values."""

from __future__ import annotations

import math

import pytest

from fieldvoice.quantity.constants import (
    M3_PER_S_PER_CFM,
    M_PER_FOOT,
    M_PER_INCH,
    PA_PER_ATM,
    f_to_k,
    from_microns,
    k_to_f,
)
from fieldvoice.trade.charge import tube
from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.vacuum import conductance, evacuation
from fieldvoice.trade.vacuum.conductance import Passage

CFM5 = 5 * M3_PER_S_PER_CFM


@pytest.mark.parametrize(
    ("size", "bore_in", "ml_per_ft"),
    # ASTM B280, annealed
    [("1/4", 0.190, 5.58), ("5/16", 0.248, 9.54), ("3/8", 0.311, 14.94), ("1/2", 0.436, 29.36),
     ("5/8", 0.555, 47.57), ("3/4", 0.680, 71.4), ("7/8", 0.785, 95.2), ("1-1/8", 1.025, 162.3)],
)
def test_tube_bores_and_volumes(size: str, bore_in: float, ml_per_ft: float) -> None:
    found = tube.tube(size)
    # printed to 0.001 in; 5/16 is 0.3125 - 2 x 0.032 = 0.2485, printed 0.248
    assert found.bore_m / M_PER_INCH == pytest.approx(bore_in, abs=6e-4)
    assert found.volume_m3_per_m * M_PER_FOOT * 1e6 == pytest.approx(ml_per_ft, rel=1e-3)


def test_a_line_set_volume() -> None:
    # ASTM B280: 25 ft of 3/8 and 3/4 is 2.16 L
    length = 25 * M_PER_FOOT
    assert tube.line_set_volume({"3/8": length, "3/4": length}).volume_m3 == pytest.approx(
        2.16e-3, abs=5e-6
    )


def test_a_line_set_with_a_coil() -> None:
    # ASTM B280: 25 ft of 3/8 and 3/4 is 2.16 L, of which 25 x 14.94 mL in the smaller; and 1 L
    length = 25 * M_PER_FOOT
    found = tube.line_set_volume({"3/8": length, "3/4": length}, {"indoor coil": 0.001})
    assert found.volume_m3 == pytest.approx(3.16e-3, abs=5e-6)
    assert found.parts_m3[0] == ("3/8 tube", pytest.approx(25 * 14.94e-6, rel=1e-3))
    assert found.parts_m3[2] == ("indoor coil", 0.001)
    assert found.to_dict()["lengths_m"] == (("3/8", length), ("3/4", length))


@pytest.mark.parametrize(
    ("size", "bore_in"), [("3/8", 0.315), ("1/2", 0.430), ("5/8", 0.545)]  # ASTM B280, drawn
)
def test_drawn_tube_differs(size: str, bore_in: float) -> None:
    assert tube.tube(size, drawn=True).bore_m / M_PER_INCH == pytest.approx(bore_in, abs=6e-4)


def test_sizes_are_those_of_each_kind_of_tube() -> None:
    # ASTM B280: drawn tube begins at 3/8
    assert tube.sizes() == ("1/4", "5/16", "3/8", "1/2", "5/8", "3/4", "7/8", "1-1/8")
    assert tube.sizes(drawn=True) == ("3/8", "1/2", "5/8")
    with pytest.raises(TradeError, match=r"drawn\): use 3/8, 1/2, 5/8"):
        tube.tube("1/4", drawn=True)
    with pytest.raises(TradeError, match=r"annealed\): use 1/4"):
        tube.tube("2")


@pytest.mark.parametrize("written", ["3/8", " 3/8in", '3/8"', "3/8 in"])
def test_a_tube_size_is_read_as_people_write_it(written: str) -> None:
    assert tube.tube(written).nominal == "3/8"


@pytest.mark.parametrize("size", ["9/16", "", "2", "three eighths"])
def test_unknown_tube_sizes_are_refused(size: str) -> None:
    with pytest.raises(TradeError, match="not known"):
        tube.tube(size)


def test_an_empty_volume_is_refused() -> None:
    with pytest.raises(TradeError, match="empty"):
        tube.line_set_volume({})
    with pytest.raises(TradeError, match="length"):
        tube.line_set_volume({"3/8": 0.0})


def test_molecular_conductance_worked_example() -> None:
    # vacuum-technology handbook (open, by a pump maker), section 7.3.2: d 0.07 m, l 2.47 m,
    # mean speed 471 m/s: C = 0.017123 m3/s, and with 2.9722e-2 m3/s: S = 1.0864e-2
    pipe = Passage("pipe", 0.07, 2.47)
    c = conductance.molecular_m3_per_s(pipe, 471.0)
    assert c == pytest.approx(0.017123, rel=1e-4)
    assert 1 / (1 / c + 1 / 2.9722e-2) == pytest.approx(1.0864e-2, rel=1e-4)


def test_long_tube_constants_of_the_textbook() -> None:
    # textbook sheet, air 20 C, cm and mbar: molecular 12.1 d3/l, laminar 135 d4 p/l, in L/s
    one_cm = Passage("tube", 0.01, 1.0)  # d 1 cm, l 100 cm
    assert conductance.molecular_m3_per_s(one_cm) * 1e3 * 100 == pytest.approx(12.1, rel=5e-3)
    assert conductance.laminar_m3_per_s(one_cm, 100.0) * 1e3 * 100 == pytest.approx(135, rel=2e-3)


def by_the_textbook(pump: float, bore_m: float, length_m: float, pa: float) -> float:
    """Speed through one passage, m3/s: 12.1 d3/l and 135 d4 p/l (textbook sheet, cm, mbar, L/s).

    The same flow Q goes through pump and passage, Q = S pump inlet = laminar (p1 + p2)/2 (p1 - p2)
    + molecular (p1 - p2): a quadratic in the pump's inlet pressure p2.
    """
    d, long = bore_m * 100, length_m * 100
    molecular, laminar = 12.1e-3 * d**3 / long, 135e-5 * d**4 / long
    b = molecular + pump
    inlet = (-b + math.sqrt(b * b + 2 * laminar * (laminar / 2 * pa + molecular) * pa)) / laminar
    return pump * inlet / pa


@pytest.mark.parametrize(
    ("bore_in", "level"), [(3 / 16, 500), (3 / 16, 10_000), (3 / 8, 500), (1 / 2, 500)]
)
def test_a_hose_leaves_what_the_textbook_says(bore_in: float, level: float) -> None:
    bore, length, pa = bore_in * M_PER_INCH, 5 * M_PER_FOOT, from_microns(level)
    found = conductance.effective_speed(CFM5, [Passage("hose", bore, length)], pa)
    expected = by_the_textbook(CFM5, bore, length, pa)
    assert found.speed_m3_per_s == pytest.approx(expected, rel=3e-3)
    # the pump takes the same flow at its own, lower pressure
    assert found.pump_inlet_pa == pytest.approx(expected * pa / CFM5, rel=3e-3)
    assert found.drops_pa == (("hose", pytest.approx(pa - expected * pa / CFM5, rel=3e-3)),)
    assert found.to_dict()["pump_m3_per_s"] == CFM5


def test_a_narrow_hose_at_500_microns() -> None:
    # the textbook sheet by hand, 3/16 in and 5 ft in cm, 500 microns = 0.66661 mbar:
    # 12.1 d3/l = 0.00858 L/s and 135 d4 p/l = 0.03038 L/s
    hose = Passage("hose", 3 / 16 * M_PER_INCH, 5 * M_PER_FOOT)
    found = conductance.conductance_m3_per_s(hose, from_microns(500))
    assert found * 1e3 == pytest.approx(0.00858 + 0.03038, rel=3e-3)


def test_where_molecules_do_not_meet_speeds_add_as_inverses() -> None:
    # ASU lecture notes (Venables) section 2.2: 1/S = 1/Sp + 1/C1 + 1/C2; C = 12.1 d3/l of the
    # textbook sheet: 3/8 in, 5 ft: 0.0686 L/s, 1/4 in, 3 ft: 0.0339 L/s; at a thousandth of a Pa
    hoses = [Passage("wide", 3 / 8 * M_PER_INCH, 5 * M_PER_FOOT),
             Passage("narrow", 1 / 4 * M_PER_INCH, 3 * M_PER_FOOT)]
    found = conductance.effective_speed(CFM5, hoses, 1e-3)
    expected = 1 / (1 / 2.3597e-3 + 1 / 0.06861e-3 + 1 / 0.03388e-3)
    assert found.speed_m3_per_s == pytest.approx(expected, rel=3e-3)
    assert found.drops_pa[1][1] > found.drops_pa[0][1]


def test_a_short_bore_is_a_longer_tube() -> None:
    # Dushman's approximation, from memory: 4/3 of a diameter more
    assert Passage("core", 0.003, 0.010, short=True).flow_length_m == pytest.approx(0.014)
    assert Passage("hose", 0.003, 0.010).flow_length_m == 0.010


def test_mean_speed_of_air() -> None:
    # kinetic theory, tabulated in vacuum handbooks: air at 20 C 463 m/s, at 0 C 447 m/s
    assert conductance.mean_speed_m_per_s() == pytest.approx(463, abs=1)
    assert conductance.mean_speed_m_per_s(273.15) == pytest.approx(447, abs=1)


@pytest.mark.parametrize(
    ("pump", "bore", "length", "pa", "what"),
    [(0.0, 0.01, 1.0, 100.0, "pump speed"), (1.1, 0.01, 1.0, 100.0, "pump speed"),
     (0.002, 0.6, 1.0, 100.0, "bore of hose"), (0.002, 0.0, 1.0, 100.0, "bore of hose"),
     (0.002, 0.01, 250.0, 100.0, "length of hose"), (0.002, 0.01, 0.0, 100.0, "length of hose"),
     (0.002, 0.01, 1.0, 1e-4, "system pressure"), (0.002, 0.01, 1.0, 1.1e5, "system pressure")],
)
def test_flows_that_cannot_be_are_refused(
    pump: float, bore: float, length: float, pa: float, what: str
) -> None:
    with pytest.raises(TradeError, match=what):
        conductance.effective_speed(pump, [Passage("hose", bore, length)], pa)


@pytest.mark.parametrize("pa", [-1.0, 1.1e5])
def test_conductance_at_a_pressure_no_pull_has_is_refused(pa: float) -> None:
    with pytest.raises(TradeError, match="mean pressure"):
        conductance.conductance_m3_per_s(Passage("hose", 0.01, 1.0), pa)


def sheet_m3_per_s(bore_m: float, length_m: float, mean_pa: float) -> float:
    """Molecular plus laminar by the textbook sheet: 12.1 d3/l and 135 d4 p/l, L/s, cm and mbar."""
    bore, length, mbar = 100 * bore_m, 100 * length_m, mean_pa / 100
    return (12.1 * bore**3 + 135 * bore**4 * mbar) / length * 1e-3


def marched_m3_per_s(pump_m3_per_s: float, bores: list[tuple[float, float]], at_pa: float) -> float:
    """Speed at the system by walking along the bores in short pieces, each by the sheet above."""
    low, high = 0.0, pump_m3_per_s * at_pa
    for _ in range(50):
        flow, pressure = 0.5 * (low + high), at_pa
        for bore, length in bores:
            for _ in range(200):
                if pressure > 0:
                    pressure -= flow / sheet_m3_per_s(bore, length / 200, pressure)
        low, high = (flow, high) if pump_m3_per_s * pressure >= flow else (low, flow)
    return low / at_pa


def test_effective_speed_of_the_handbook_example() -> None:
    # vacuum-technology handbook (open, by a pump maker), section 7.3.2, molecular: d 0.07 m,
    # l 2.47 m, pump 2.9722e-2 m3/s: S = 1.0864e-2. Its gas moves at 471 m/s, ours at 463: 1 %
    pipe = Passage("pipe", 0.07, 2.47)
    found = conductance.effective_speed(2.9722e-2, [pipe], 1e-3)
    assert found.speed_m3_per_s == pytest.approx(1.0864e-2, rel=0.015)


def test_no_hose_leaves_the_whole_pump() -> None:
    found = conductance.effective_speed(CFM5, [], 1000.0)
    assert found.speed_m3_per_s == pytest.approx(CFM5)


def test_wider_and_shorter_is_faster() -> None:
    def speed(bore_in: float, feet: float) -> float:
        hose = Passage("hose", bore_in * M_PER_INCH, feet * M_PER_FOOT)
        return conductance.effective_speed(CFM5, [hose], from_microns(500)).speed_m3_per_s

    assert speed(0.25, 5) < speed(0.375, 5) < speed(0.5, 5) < CFM5
    assert speed(0.25, 5) < speed(0.25, 3)


def test_a_core_left_in_costs_what_its_bore_does() -> None:
    # a core as a bore of 1.8 mm and 12 mm (common practice) with the textbook's constants
    pa = from_microns(500)
    expected = CFM5 / by_the_textbook(CFM5, 0.0018, 0.012 + 4 / 3 * 0.0018, pa)
    assert expected == pytest.approx(29.4, abs=0.1)
    assert evacuation.cores_cost(CFM5, [], pa).times_longer == pytest.approx(expected, rel=3e-3)


def test_two_cores_cost_more_than_one() -> None:
    hose = Passage("hose", 3 / 8 * M_PER_INCH, 5 * M_PER_FOOT)
    one = evacuation.cores_cost(CFM5, [hose], from_microns(500))
    two = evacuation.cores_cost(CFM5, [hose], from_microns(500), cores=2)
    assert 1.5 < one.times_longer < two.times_longer
    assert [p.name for p in two.with_cores.passages] == [
        "valve core left in 1", "valve core left in 2", "hose"]
    assert two.to_dict()["cores"] == 2
    for cores in (0, 5):
        with pytest.raises(TradeError, match="number of cores"):
            evacuation.cores_cost(CFM5, [hose], from_microns(500), cores=cores)


@pytest.mark.parametrize("cores", [1, 2])
def test_cores_and_hose_walked_piece_by_piece(cores: int) -> None:
    # A core as a bore of 1.8 mm by 12 mm with an entrance of 4/3 bores is an estimate (common
    # practice, no document): what it costs is walked through by the textbook sheet, 5.1 and 9.0
    # times as long
    bore, length, at_pa = 3 / 8 * M_PER_INCH, 5 * M_PER_FOOT, from_microns(500)
    found = evacuation.cores_cost(CFM5, [Passage("hose", bore, length)], at_pa, cores=cores)
    core = (0.0018, 0.012 + 4 / 3 * 0.0018)
    open_way = marched_m3_per_s(CFM5, [(bore, length)], at_pa)
    blocked = marched_m3_per_s(CFM5, [core] * cores + [(bore, length)], at_pa)
    assert found.times_longer == pytest.approx(open_way / blocked, rel=0.02)


def test_triple_evacuation_dilution() -> None:
    # ideal mixing by hand: (1500/760000)(1500/760000)(500/760000) of the first air is left
    um = from_microns
    found = evacuation.dilution([um(1500), um(1500), um(500)], [PA_PER_ATM, PA_PER_ATM])
    by_hand = (1500 / 760_000) ** 2 * (500 / 760_000)
    assert found.share_left == pytest.approx(by_hand, rel=1e-5)
    assert found.equivalent_pa == pytest.approx(um(by_hand * 760_000), rel=1e-5)
    assert found.to_dict()["breaks_pa"] == (PA_PER_ATM, PA_PER_ATM)


@pytest.mark.parametrize(
    ("pulls", "breaks", "message"),
    [([100.0, 100.0], [], "breaks"), ([100.0], [1e5], "breaks"),
     ([2e5], [], "to below the pressure before it"),
     ([100.0, 300.0], [200.0], "to below the pressure before it"), ([0.0], [], "above zero"),
     ([PA_PER_ATM], [], "pull 1 is 760000 microns"), ([100.0, 90.0], [99.0], "break 1"),
     ([100.0, 90.0], [7.1e6], "break 1"), ([100.0, 90.0], [], "2 pulls need 1 breaks"),
     ([100.0, 300.0], [300.0], "pull 2 is 2250 microns: permitted range .* 2250 microns")],
)
def test_sweeps_that_cannot_be_are_refused(
    pulls: list[float], breaks: list[float], message: str
) -> None:
    with pytest.raises(TradeError, match=message):
        evacuation.dilution(pulls, breaks)


def test_a_gram_of_water_as_vapour() -> None:
    # computed with CoolProp: 57.8 L at 20 C saturation, 2030 L at 500 microns
    assert evacuation.water_load(1e-3, 2339.2).vapour_m3 == pytest.approx(0.0578, rel=2e-3)
    assert evacuation.water_load(1e-3, from_microns(500)).vapour_m3 == pytest.approx(2.03, rel=2e-3)


def test_a_pound_of_water_fills_867_cubic_feet() -> None:
    # trade journal (2012) from steam tables: 1 lb at 70 F is 867 ft3; saturation there 2503 Pa
    found = evacuation.water_load(0.45359237, 2503.0, f_to_k(70))
    assert found.vapour_m3 / M_PER_FOOT**3 == pytest.approx(867, rel=3e-3)


def test_a_pump_takes_the_vapour_of_a_gram_in_a_quarter_of_an_hour() -> None:
    # 2030 L (CoolProp) at 5 cfm, 2.3597 L/s: 860 s
    found = evacuation.water_load(1e-3, from_microns(500), speed_m3_per_s=CFM5)
    assert found.pumping_s == pytest.approx(2030 / 2.3597, rel=2e-3)
    assert evacuation.water_load(1e-3, from_microns(500)).pumping_s is None
    assert found.to_dict()["mass_kg"] == 1e-3


@pytest.mark.parametrize(
    ("mass", "pa", "kelvin", "speed", "what"),
    [(0.0, 100.0, 293.15, None, "water mass"), (0.1, 0.0, 293.15, None, "pressure"),
     (0.1, 100.0, 249.0, None, "temperature"), (0.1, 100.0, 341.0, None, "temperature"),
     (0.1, 100.0, 293.15, 0.0, "effective speed")],
)
def test_water_that_cannot_be_is_refused(
    mass: float, pa: float, kelvin: float, speed: float | None, what: str
) -> None:
    with pytest.raises(TradeError, match=what):
        evacuation.water_load(mass, pa, kelvin, speed)


@pytest.mark.parametrize("celsius", [3.0, 20.0, 45.0])
def test_the_share_that_freezes_is_the_heat_balance_of_the_steam_tables(celsius: float) -> None:
    # IAPWS-97 and IAPWS R10-06 (ice) through the iapws library, kJ/kg: about 6/7 from 20 C
    steam = pytest.importorskip("iapws")
    ice = pytest.importorskip("iapws._iapws")._Ice(273.15, 0.101325)["h"]
    water, vapour = (steam.IAPWS97(T=273.16, x=x).h for x in (0, 1))
    warm = steam.IAPWS97(T=celsius + 273.15, P=0.101325).h
    expected = (vapour - water) / ((vapour - water) + (warm - ice))
    found = evacuation.freezing(from_microns(500), celsius + 273.15)
    assert found.share_frozen_at_most == pytest.approx(expected, rel=2e-3)


def test_where_the_pipe_gives_no_heat_seven_parts_in_eight_freeze() -> None:
    # IAPWS steam tables: 2500.9 kJ/kg to evaporate, 333.4 to freeze; a pipe below the triple point
    # has no heat for the water; a hundredth of a Pa is the least pressure taken
    found = evacuation.freezing(0.01, 260.0)
    assert found.share_frozen_at_most == pytest.approx(2500.9 / (2500.9 + 333.4), rel=5e-4)


@pytest.mark.parametrize(
    ("pa", "kelvin", "what"),
    [(0.001, 293.15, "pressure"), (1.1e5, 293.15, "pressure"), (100.0, 212.0, "ambient"),
     (100.0, 344.0, "ambient")],
)
def test_freezing_where_nobody_works_is_refused(pa: float, kelvin: float, what: str) -> None:
    with pytest.raises(TradeError, match=what):
        evacuation.freezing(pa, kelvin)


def test_freezing_begins_at_the_triple_point() -> None:
    # IAPWS R14-08 triple point: 4588 microns; a chiller manual (Carrier 17/19EX p. 136) stops there
    assert not evacuation.freezing(from_microns(4589), 293.15).hazard
    assert evacuation.freezing(from_microns(4587), 293.15).hazard
    low = evacuation.freezing(from_microns(500), 293.15)
    assert low.hazard
    assert low.ice_k is not None
    assert k_to_f(low.ice_k) == pytest.approx(-12.06, abs=0.02)


def test_a_cold_pipe_is_a_hazard_by_itself() -> None:
    # UFGS 15182 section 3.3.3: ambient above 2 C (35 F) while evacuating
    cold, warm = (evacuation.freezing(from_microns(9000), f_to_k(f)) for f in (35.4, 35.8))
    assert cold.hazard
    assert cold.ice_k is None
    assert "The pipe is at 35 °F" in cold.reason
    assert "keep pumping" in cold.next_action
    assert not warm.hazard
    assert warm.share_frozen_at_most == 0.0
    assert warm.ice_k is None
    assert "9000 microns is above 4588" in warm.reason
    assert warm.to_dict()["ambient_k"] == f_to_k(35.8)
