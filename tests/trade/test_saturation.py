"""Saturation, superheat and subcooling against makers' tables and CoolProp itself."""

from __future__ import annotations

from itertools import pairwise

import pytest

from fieldvoice.quantity.constants import KELVIN_AT_0_C, PA_PER_ATM, f_to_k, from_psig, k_to_f, psig
from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.refrigerant import refrigerants
from fieldvoice.trade.refrigerant import saturation as rf


# Allied Air 4SCU16LT manual 506253-01 (2009/12), Table 5, R-410A; single-column charts are dew-like
@pytest.mark.parametrize(
    ("fahrenheit", "printed_psig"),
    [(32, 100.8), (40, 118.0), (60, 169.6), (70, 200.6), (80, 235.3), (90, 274.1), (100, 317.2),
     (110, 365.0), (120, 417.7), (130, 476.5)],
)
def test_r410a_agrees_with_a_printed_table(fahrenheit: float, printed_psig: float) -> None:
    found = rf.dew_pressure_pa("R-410A", f_to_k(fahrenheit))
    assert found == pytest.approx(from_psig(printed_psig), rel=0.005)


# Carrier 38VTA/38TUA table, R-22 at no superheat
@pytest.mark.parametrize(
    ("printed_psig", "fahrenheit"),
    [(61.5, 35), (64.2, 37), (67.1, 39), (70, 41), (73, 43), (76, 45), (79.2, 47), (82.4, 49),
     (85.7, 51)],
)
def test_r22_agrees_with_a_printed_table(printed_psig: float, fahrenheit: float) -> None:
    found = rf.dew_temperature_k("R-22", from_psig(printed_psig))
    assert k_to_f(found) == pytest.approx(fahrenheit, abs=0.1)


# Johnson Controls CSV manual, Table 15, R-410A, printed to whole F
@pytest.mark.parametrize(
    ("printed_psig", "fahrenheit"),
    [(100, 32), (120, 41), (130, 45), (150, 53), (200, 70), (235, 80)],
)
def test_r410a_agrees_with_a_second_printed_table(printed_psig: float, fahrenheit: float) -> None:
    found = rf.dew_temperature_k("R-410A", from_psig(printed_psig))
    assert k_to_f(found) == pytest.approx(fahrenheit, abs=0.55)


# Fujitsu service manual p. 223, R-410A liquid, MPa gauge: an older property set, 0.62 % off at 0 C
@pytest.mark.parametrize(
    ("celsius", "printed_mpa", "within"),
    [(0, 0.7044, 0.0065), (20, 1.353, 0.005), (40, 2.332, 0.005), (60, 3.735, 0.005)],
)
def test_r410a_liquid_agrees_with_a_printed_table(
    celsius: float, printed_mpa: float, within: float
) -> None:
    found = rf.bubble_pressure_pa("R-410A", celsius + KELVIN_AT_0_C)
    assert found == pytest.approx(printed_mpa * 1e6 + PA_PER_ATM, rel=within)


def test_r410a_agrees_with_a_printed_pressure_at_77_f() -> None:
    # Fujitsu FO20R manual 4.1.2: 224.5 psig at 77 F
    for curve in (rf.dew_pressure_pa, rf.bubble_pressure_pa):
        assert curve("R-410A", f_to_k(77)) == pytest.approx(from_psig(224.5), rel=0.005)


# normal boiling points in C, bubble and dew (CoolProp 8.0.0): 0 psig is inside every table
@pytest.mark.parametrize(
    ("name", "bubble_c", "dew_c"),
    [("R-410A", -51.44, -51.36), ("R-454B", -50.74, -49.53), ("R-32", -51.65, -51.65),
     ("R-22", -40.81, -40.81), ("R-134a", -26.07, -26.07)],
)
def test_normal_boiling_points(name: str, bubble_c: float, dew_c: float) -> None:
    found = rf.saturation(name, PA_PER_ATM)
    assert found.bubble_k - KELVIN_AT_0_C == pytest.approx(bubble_c, abs=0.01)
    assert found.dew_k - KELVIN_AT_0_C == pytest.approx(dew_c, abs=0.01)


# Goodman-family SZC16 manual p. 9, printed to whole F: suction (dew) and liquid (bubble) columns
@pytest.mark.parametrize(
    ("name", "side", "printed"),
    [
        ("R-410A", "dew", {50: 1, 70: 15, 100: 31, 120: 41, 130: 45, 150: 53}),
        ("R-410A", "bubble", {200: 70, 235: 80, 275: 90, 325: 101, 355: 108, 375: 112, 475: 130,
                              600: 149}),
        ("R-22", "dew", {50: 26, 70: 41, 100: 59, 120: 69}),
        ("R-22", "bubble", {200: 101, 275: 124, 355: 144, 415: 157}),
    ],
)
def test_a_printed_service_table(name: str, side: str, printed: dict[int, int]) -> None:
    curve = rf.dew_temperature_k if side == "dew" else rf.bubble_temperature_k
    for gauge, fahrenheit in printed.items():
        assert k_to_f(curve(name, from_psig(gauge))) == pytest.approx(fahrenheit, abs=1.0)


# R-32 saturation table of a chemical supplier (appendix 9), bar absolute
@pytest.mark.parametrize(
    ("celsius", "printed_bar"),
    [(-40, 1.777), (-20, 4.060), (0, 8.139), (10, 11.081), (20, 14.759), (30, 19.283),
     (40, 24.781), (50, 31.403)],
)
def test_r32_agrees_with_a_printed_table(celsius: float, printed_bar: float) -> None:
    found = rf.dew_pressure_pa("R-32", celsius + KELVIN_AT_0_C)
    assert found / 1e5 == pytest.approx(printed_bar, rel=0.005)


# end points of a printed R-454B chart
@pytest.mark.parametrize(
    ("side", "fahrenheit", "printed_psig"), [("dew", -40, 8.8), ("bubble", 150, 581.4)]
)
def test_r454b_meets_the_ends_of_a_printed_chart(
    side: str, fahrenheit: float, printed_psig: float
) -> None:
    curve = rf.dew_pressure_pa if side == "dew" else rf.bubble_pressure_pa
    found = psig(curve("R-454B", f_to_k(fahrenheit)))
    # 0.34 psi short at -40 F (1.5 % of the absolute pressure), 1.1 psi at 150 F (0.2 %)
    assert found == pytest.approx(printed_psig, abs=1.2)


# CoolProp 8.0.0 (reference library), psig at 14.69595 psi: bubble / dew
@pytest.mark.parametrize(
    ("name", "fahrenheit", "bubble", "dew"),
    [
        ("R-410A", 0, 48.44, 48.22), ("R-410A", 32, 101.44, 101.06),
        ("R-410A", 40, 118.79, 118.36), ("R-410A", 70, 201.74, 201.06),
        ("R-410A", 80, 236.51, 235.74), ("R-410A", 100, 318.53, 317.56),
        ("R-410A", 120, 419.47, 418.31), ("R-410A", 130, 478.03, 476.84),
        ("R-454B", 0, 45.91, 42.91), ("R-454B", 32, 96.61, 91.53), ("R-454B", 40, 113.19, 107.49),
        ("R-454B", 70, 192.31, 183.91), ("R-454B", 80, 225.41, 216.02),
        ("R-454B", 100, 303.27, 291.90), ("R-454B", 120, 398.61, 385.53),
        ("R-454B", 130, 453.64, 439.98), ("R-32", 0, 49.25, 49.25), ("R-32", 32, 103.23, 103.23),
        ("R-32", 40, 120.95, 120.95), ("R-32", 70, 205.83, 205.83), ("R-32", 80, 241.48, 241.48),
        ("R-32", 100, 325.67, 325.67), ("R-32", 120, 429.34, 429.34),
        ("R-32", 130, 489.48, 489.48), ("R-22", 0, 24.03, 24.03), ("R-22", 32, 57.53, 57.53),
        ("R-22", 40, 68.56, 68.56), ("R-22", 70, 121.44, 121.44), ("R-22", 80, 143.63, 143.63),
        ("R-22", 100, 195.91, 195.91), ("R-22", 120, 259.96, 259.96),
        ("R-22", 130, 296.89, 296.89), ("R-134a", 0, 6.47, 6.47), ("R-134a", 32, 27.77, 27.77),
        ("R-134a", 40, 35.05, 35.05), ("R-134a", 70, 71.11, 71.11), ("R-134a", 80, 86.69, 86.69),
        ("R-134a", 100, 124.16, 124.16), ("R-134a", 120, 171.17, 171.17),
        ("R-134a", 130, 198.72, 198.72),
    ],
)
def test_tables_give_back_the_reference_library(
    name: str, fahrenheit: float, bubble: float, dew: float
) -> None:
    kelvin = f_to_k(fahrenheit)
    assert psig(rf.bubble_pressure_pa(name, kelvin)) == pytest.approx(bubble, abs=0.02)
    assert psig(rf.dew_pressure_pa(name, kelvin)) == pytest.approx(dew, abs=0.02)


@pytest.mark.parametrize("name", ["R-410A", "R-32", "R-22", "R-134a"])
def test_between_grid_points_the_tables_follow_coolprop(name: str) -> None:
    library = pytest.importorskip("CoolProp.CoolProp")
    for kelvin in (230.5, 271.37, 300.5, 333.33):
        expected = library.PropsSI("P", "T", kelvin, "Q", 1, name.replace("-", ""))
        assert rf.dew_pressure_pa(name, kelvin) == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize("name", ["R-410A", "R-32", "R-22", "R-134a"])
def test_the_coldest_point_is_that_of_coolprop(name: str) -> None:
    library = pytest.importorskip("CoolProp.CoolProp")
    expected = library.PropsSI("P", "T", 210.0, "Q", 1, name.replace("-", ""))
    assert rf.dew_pressure_pa(name, 210.0) == pytest.approx(expected, rel=2e-7)


@pytest.mark.parametrize("kelvin", [230.5, 271.37, 300.5, 318.5])
def test_r454b_follows_coolprop_where_it_converges(kelvin: float) -> None:
    library = pytest.importorskip("CoolProp.CoolProp")
    for quality, curve, density in (
        (0, rf.bubble_pressure_pa, rf.liquid_density), (1, rf.dew_pressure_pa, rf.vapour_density)
    ):
        pressure = library.PropsSI("P", "T", kelvin, "Q", quality, "R454B.mix")
        assert curve("R-454B", kelvin) == pytest.approx(pressure, rel=1e-4)
        mass = library.PropsSI("D", "T", kelvin, "Q", quality, "R454B.mix")
        assert density("R-454B", kelvin) == pytest.approx(mass, rel=2e-4)


def test_r454b_is_smooth_where_the_library_fails() -> None:
    # CoolProp's mixture fails at scattered points above 133 F; the filled table must not kink
    points = [rf.bubble_pressure_pa("R-454B", f_to_k(f)) for f in range(120, 151)]
    slopes = [b - a for a, b in pairwise(points)]
    bends = [b - a for a, b in pairwise(slopes)]
    assert all(0 < bend < 0.03 * slopes[0] for bend in bends)


def test_published_superheat() -> None:
    # Trane 18-BC53D2 p. 28: R-410A 81 psig with the line at 36 F is 15 F
    found = rf.superheat("R-410A", from_psig(81), f_to_k(36))
    assert found.difference_f == pytest.approx(15, abs=1.0)
    assert found.side == "dew"


# same table, other rows: psig and line F for 15 F of superheat
@pytest.mark.parametrize(
    ("gauge", "saturation_f"),
    [(42, -5), (55, 5), (70, 15), (88, 25), (108, 35), (131, 45), (157, 55)],
)
def test_published_superheat_table(gauge: float, saturation_f: float) -> None:
    line_f = saturation_f + 15
    found = rf.superheat("R410A", from_psig(gauge), f_to_k(line_f))
    assert found.difference_f == pytest.approx(15, abs=0.6)


def test_published_subcooling() -> None:
    # Johnson Controls CSV p. 63: 355 psig, liquid line 95.0 F: 13.0 F
    found = rf.subcooling("R-410A", from_psig(355), f_to_k(95))
    assert found.difference_f == pytest.approx(13.0, abs=0.5)
    assert found.side == "bubble"


def test_published_r22_line_temperature() -> None:
    # Carrier: R-22, 76 psig, 10 F superheat is a 55 F line
    found = rf.superheat("R-22", from_psig(76), f_to_k(55))
    assert found.difference_f == pytest.approx(10, abs=0.1)


def test_glide_of_r454b_is_what_the_wrong_curve_would_cost() -> None:
    # CoolProp: 350 psig is 110.3 F bubble, 112.9 F dew
    found = rf.saturation("R-454B", from_psig(350))
    assert k_to_f(found.bubble_k) == pytest.approx(110.3, abs=0.1)
    assert k_to_f(found.dew_k) == pytest.approx(112.9, abs=0.1)
    assert found.glide_k * 1.8 == pytest.approx(2.6, abs=0.1)


def test_pure_fluids_have_no_glide() -> None:
    assert rf.saturation("R-32", from_psig(200)).glide_k == pytest.approx(0.0, abs=1e-4)


def test_negative_superheat_is_reported_with_a_warning() -> None:
    found = rf.superheat("R-410A", from_psig(120), f_to_k(35))
    assert found.difference_k < 0
    assert "liquid" in found.note


@pytest.mark.parametrize("name", ["r410a", "R-410A", "410A", "R 410a"])
def test_names_are_read_as_people_write_them(name: str) -> None:
    assert refrigerants.refrigerant(name).name == "R-410A"


def test_a_line_at_saturation_is_no_fault() -> None:
    # CoolProp: R-32 at 40 F is 120.95 psig
    for of in (rf.superheat, rf.subcooling):
        pressure, kelvin = rf.dew_pressure_pa("R-32", 280.0), rf.dew_temperature_k(
            "R-32", rf.dew_pressure_pa("R-32", 280.0))
        assert of("R-32", pressure, kelvin).note == ""


def test_a_liquid_line_above_the_bubble_point_is_reported_with_a_warning() -> None:
    # Johnson Controls CSV p. 63: 355 psig is 108 F; a line at 110 F is above it
    found = rf.subcooling("R-410A", from_psig(355), f_to_k(110))
    assert found.difference_f == pytest.approx(-2.0, abs=0.5)
    assert "vapour" in found.note


@pytest.mark.parametrize("kelvin", [199.0, 451.0, float("nan")])
def test_lines_that_no_clamp_reads_are_refused(kelvin: float) -> None:
    for of in (rf.superheat, rf.subcooling):
        with pytest.raises(TradeError, match="line temperature"):
            of("R-410A", from_psig(120), kelvin)


def test_hot_and_cold_lines_are_taken() -> None:
    # a discharge line of 250 F and a suction line of -90 F are read with a clamp
    assert rf.superheat("R-410A", from_psig(400), f_to_k(250)).difference_k > 0
    assert rf.subcooling("R-32", from_psig(1), f_to_k(-90)).difference_k > 0


def test_results_as_plain_values() -> None:
    # Trane 18-BC53D2 p. 28: R-410A 81 psig with the line at 36 F is 15 F
    line = rf.superheat("R-410A", from_psig(81), f_to_k(36)).to_dict()
    assert (line["kind"], line["side"], line["safety_class"]) == ("superheat", "dew", "A1")
    assert line["difference_f"] == pytest.approx(15, abs=1.0)
    both = rf.saturation("R-454B", from_psig(350)).to_dict()
    assert both["glide_k"] == pytest.approx(2.6 / 1.8, abs=0.06)  # CoolProp
    assert both["pressure_pa"] == from_psig(350)


def test_the_permitted_range_is_told_in_the_units_of_a_gauge() -> None:
    # CoolProp: R-410A at 210 K (-82 F) 7.8 psia, at 341 K (154 F) 660 psia
    with pytest.raises(TradeError, match=r"1160.3 psia .* range is 7.8 to 660.1 psia"):
        rf.saturation("R-410A", 8e6)
    with pytest.raises(TradeError, match=r"at 170.0 F .* range is -82 to 154 F"):
        rf.bubble_pressure_pa("R-410A", f_to_k(170))


@pytest.mark.parametrize("name", refrigerants.names())
def test_both_ends_of_the_table_are_inside_it(name: str) -> None:
    about = refrigerants.refrigerant(name)
    for kelvin in (about.low_k, about.high_k):
        pressure = rf.bubble_pressure_pa(name, kelvin)
        assert rf.bubble_temperature_k(name, pressure) == pytest.approx(kelvin, abs=1e-6)


def test_flammable_refrigerants_say_so() -> None:
    assert "flammable" in refrigerants.refrigerant("R-32").caution
    assert "flammable" not in refrigerants.refrigerant("R-134a").caution


@pytest.mark.parametrize("name", ["R-999", "", "water", "R-454"])
def test_unknown_refrigerants_are_refused(name: str) -> None:
    with pytest.raises(TradeError, match="not known"):
        rf.saturation(name, 1e6)


@pytest.mark.parametrize("pressure_pa", [-1.0, 0.0, 1.0, 9e6, float("nan")])
def test_pressures_outside_the_table_are_refused(pressure_pa: float) -> None:
    with pytest.raises(TradeError):
        rf.saturation("R-410A", pressure_pa)


@pytest.mark.parametrize("fahrenheit", [-100.0, 160.0])
def test_temperatures_outside_the_table_are_refused(fahrenheit: float) -> None:
    with pytest.raises(TradeError, match="permitted range"):
        rf.dew_pressure_pa("R-454B", f_to_k(fahrenheit))
