"""Tubes, conductance, effective speed, sweeps, freezing and cores against textbook values."""

from __future__ import annotations

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


def test_drawn_tube_differs() -> None:
    assert tube.tube("3/8", drawn=True).bore_m / M_PER_INCH == pytest.approx(0.315)


def test_a_line_set_volume() -> None:
    # ASTM B280: 25 ft of 3/8 and 3/4 is 2.16 L
    length = 25 * M_PER_FOOT
    assert tube.line_set_volume({"3/8": length, "3/4": length}).volume_m3 == pytest.approx(
        2.16e-3, abs=5e-6
    )


def test_other_parts_add_to_the_tube() -> None:
    # ASTM B280: 1 m of 3/8 is 14.94 mL/ft / 0.3048 = 49.0 mL; a coil of 1 L beside it
    found = tube.line_set_volume({"3/8": 1.0}, {"indoor coil": 0.001})
    assert found.volume_m3 == pytest.approx(1.0490e-3, abs=2e-7)


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


def test_a_narrow_hose_conducts_as_the_textbook_sheet_says() -> None:
    # by hand from the sheet, 3/16 in by 5 ft at 500 microns (0.6666 mbar):
    # 12.1 x 0.4763^3 / 152.4 + 135 x 0.4763^4 x 0.6666 / 152.4 = 0.0086 + 0.0304 = 0.0390 L/s
    hose = Passage("hose", 3 / 16 * M_PER_INCH, 5 * M_PER_FOOT)
    found = conductance.conductance_m3_per_s(hose, from_microns(500))
    assert found * 1e3 == pytest.approx(0.0390, abs=0.0002)


def test_effective_speed_of_the_handbook_example() -> None:
    # vacuum-technology handbook (open, by a pump maker), section 7.3.2, molecular: d 0.07 m,
    # l 2.47 m, pump 2.9722e-2 m3/s: S = 1.0864e-2. Its gas moves at 471 m/s, ours at 463: 1 %
    pipe = Passage("pipe", 0.07, 2.47)
    found = conductance.effective_speed(2.9722e-2, [pipe], 1e-3)
    assert found.speed_m3_per_s == pytest.approx(1.0864e-2, rel=0.015)


@pytest.mark.parametrize(
    ("bore_in", "microns"), [(3 / 16, 500), (3 / 16, 10_000), (3 / 8, 500), (1 / 2, 500)]
)
def test_the_flow_that_hose_and_pump_carry_alike_is_found(bore_in: float, microns: float) -> None:
    bore, length, at_pa = bore_in * M_PER_INCH, 5 * M_PER_FOOT, from_microns(microns)
    found = conductance.effective_speed(CFM5, [Passage("hose", bore, length)], at_pa)
    marched = marched_m3_per_s(CFM5, [(bore, length)], at_pa)
    assert found.speed_m3_per_s == pytest.approx(marched, rel=0.01)


def test_no_hose_leaves_the_whole_pump() -> None:
    found = conductance.effective_speed(CFM5, [], 1000.0)
    assert found.speed_m3_per_s == pytest.approx(CFM5)


def test_wider_and_shorter_is_faster() -> None:
    def speed(bore_in: float, feet: float) -> float:
        hose = Passage("hose", bore_in * M_PER_INCH, feet * M_PER_FOOT)
        return conductance.effective_speed(CFM5, [hose], from_microns(500)).speed_m3_per_s

    assert speed(0.25, 5) < speed(0.375, 5) < speed(0.5, 5) < CFM5
    assert speed(0.25, 5) < speed(0.25, 3)


@pytest.mark.parametrize("cores", [1, 2])
def test_cores_left_in_cost_time(cores: int) -> None:
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


@pytest.mark.parametrize(
    ("pulls", "breaks", "message"),
    [([100.0, 100.0], [], "breaks"), ([100.0], [1e5], "breaks"),
     ([2e5], [], "to below the pressure before it"),
     ([100.0, 300.0], [200.0], "to below the pressure before it"), ([0.0], [], "above zero")],
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


def test_freezing_begins_at_the_triple_point() -> None:
    # IAPWS R14-08 triple point: 4588 microns; a chiller manual (Carrier 17/19EX p. 136) stops there
    assert not evacuation.freezing(from_microns(4700), 293.15).hazard
    low = evacuation.freezing(from_microns(500), 293.15)
    assert low.hazard
    assert low.ice_k is not None
    assert k_to_f(low.ice_k) == pytest.approx(-12.06, abs=0.02)


def test_a_cold_pipe_is_a_hazard_by_itself() -> None:
    # UFGS 15182 section 3.3.3: ambient above 2 C (35 F) while evacuating
    assert evacuation.freezing(from_microns(9000), f_to_k(30)).hazard
    assert not evacuation.freezing(from_microns(9000), f_to_k(50)).hazard
