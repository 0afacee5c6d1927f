"""Charge trim against tube geometry and makers' worked examples."""

from __future__ import annotations

import math

import pytest

from fieldvoice.quantity.constants import KG_PER_OZ, M_PER_FOOT, f_to_k
from fieldvoice.trade.charge.charge_trim import OUNCES_PER_FOOT, charge_trim, per_length
from fieldvoice.trade.errors import TradeError


@pytest.mark.parametrize(
    ("name", "size", "ounces"),
    # ASTM B280 bore x saturated liquid at 100 F (CoolProp)
    [("R-410A", "1/4", 0.195), ("R-410A", "5/16", 0.333), ("R-410A", "3/8", 0.521),
     ("R-410A", "1/2", 1.024), ("R-410A", "5/8", 1.660), ("R-454B", "3/8", 0.489),
     ("R-32", "3/8", 0.476), ("R-22", "3/8", 0.600)],
)
def test_a_line_full_of_liquid(name: str, size: str, ounces: float) -> None:
    assert per_length(name, size).oz_per_ft == pytest.approx(ounces, abs=0.001)


def test_liquid_and_suction_together_meet_a_published_adder() -> None:
    # Carrier 38C series p. 27 Table 4: R-410A 3/8 in 0.60 oz/ft
    found = per_length("R-410A", "3/8", "3/4")
    assert found.oz_per_ft == pytest.approx(0.60, abs=0.02)


@pytest.mark.parametrize(
    ("size", "feet", "adder", "ounces"),
    # Carrier 38C series p. 27, worked examples; 13.5 oz is covered by the factory charge
    [("1/4", 25, 0.27, -6.75), ("5/16", 45, 0.40, 4.5)],
)
def test_published_worked_trims(size: str, feet: float, adder: float, ounces: float) -> None:
    found = charge_trim("R-410A", size, feet * M_PER_FOOT, covered_kg=13.5 * KG_PER_OZ,
                        adder_kg_per_m=adder * OUNCES_PER_FOOT)
    assert found.change_oz == pytest.approx(ounces, abs=1e-9)


def test_published_trim_by_covered_length() -> None:
    # Unico IS36G110 p. 10: 60 ft of 1/4 in, pre-charged for 40 ft, 0.16 oz/ft: 3.2 oz
    found = charge_trim("R-410A", "1/4", 60 * M_PER_FOOT, covered_m=40 * M_PER_FOOT,
                        adder_kg_per_m=0.16 * OUNCES_PER_FOOT)
    assert found.change_oz == pytest.approx(3.2, abs=1e-9)
    assert "3.2 ounces" in found.next_action


def test_without_an_adder_a_line_full_of_liquid_stands_in_and_is_not_called_the_most() -> None:
    # R-410A, 3/8 in: 0.521 oz/ft at 100 F, and more, 0.568, in liquid of 70 F (CoolProp: bore
    # 0.311 in x 989.2 and 1,078.0 kg/m3)
    found = charge_trim("R-410A", "3/8", 30 * M_PER_FOOT, covered_m=15 * M_PER_FOOT)
    assert not found.from_equipment
    assert found.change_oz == pytest.approx(15 * 0.521, abs=0.01)
    assert found.reason == (
        "No figure from the equipment was given, so the liquid line is taken as full of liquid at "
        "100 °F: 0.52 ounces a foot, at 70 °F it would be 0.57. Use the equipment's own figure.")
    cool = per_length("R-410A", "3/8", liquid_k=f_to_k(70))
    assert cool.oz_per_ft == pytest.approx(0.568, abs=0.001)
    assert "flammable" in charge_trim("R-32", "3/8", 30.0, covered_m=15.0).next_action


@pytest.mark.parametrize(
    ("share", "unusual"), [(0.29, True), (0.31, False), (1.0, False), (1.59, False), (1.61, True)]
)
def test_an_unlikely_adder_is_questioned(share: float, unusual: bool) -> None:
    # of a line full of liquid; published adders of R-410A: 0.55 (1/4 in, 15 g/m with the orifice
    # outdoors) to 1.6 (3/8 in, 65 g/m is 1.35)
    full = per_length("R-410A", "3/8").kg_per_m
    found = charge_trim("R-410A", "3/8", 10.0, covered_m=5.0, adder_kg_per_m=share * full)
    assert ("unusual" in found.reason) is unusual
    assert f"{share:.0%} of a line full of liquid" in found.reason
    assert found.from_equipment


def test_suction_vapour_counts_at_its_dew_point() -> None:
    # ASTM B280 bore of 7/8 in: 0.785 in; dry saturated vapour at 45 F by CoolProp
    library = pytest.importorskip("CoolProp.CoolProp")
    density = library.PropsSI("D", "T", f_to_k(45), "Q", 1, "R410A")
    found = per_length("R-410A", "3/8", "7/8")
    assert found.suction_kg_per_m == pytest.approx(
        density * math.pi / 4 * (0.785 * 0.0254) ** 2, rel=1e-3)
    assert found.oz_per_ft == pytest.approx(0.521 + found.suction_kg_per_m / 0.09301, abs=0.001)


@pytest.mark.parametrize(
    ("feet", "words"),
    [(45.0, "Nothing to add."), (45.08, "Nothing to add."), (45.2, "Weigh in 0.1 ounces"),
     (44.8, "Recover 0.1 ounces, never vent"), (20, "Recover 12.5 ounces"),
     (60, "Weigh in 7.5 ounces, then check superheat or subcooling.")],
)
def test_what_to_do_follows_the_change(feet: float, words: str) -> None:
    found = charge_trim("R-410A", "3/8", feet * M_PER_FOOT, covered_m=45 * M_PER_FOOT,
                        adder_kg_per_m=0.5 * OUNCES_PER_FOOT)
    assert words in found.next_action


def test_a_trim_keeps_what_it_was_worked_out_from() -> None:
    found = charge_trim("410a", "3/8", 10.0, covered_kg=0.2, adder_kg_per_m=0.05).to_dict()
    assert found["change_kg"] == pytest.approx(0.3)
    assert (found["line_kg"], found["covered_kg"], found["covered_m"]) == (0.5, 0.2, None)
    assert (found["refrigerant"], found["safety_class"]) == ("R-410A", "A1")
    # g/m to oz/ft: 1 oz/ft is 93.01 g/m (SP 811)
    assert found["full_of_liquid_kg_per_m"] / 0.09301 == pytest.approx(0.521, abs=0.001)
    assert found["change_oz"] == pytest.approx(0.3 / 0.0283495, rel=1e-5)


@pytest.mark.parametrize(
    ("length_m", "cover", "message"),
    [(-0.1, {"covered_m": 5.0}, "line length"), (150.1, {"covered_m": 5.0}, "line length"),
     (10.0, {"covered_m": -0.1}, "covered length"), (10.0, {"covered_m": 150.1}, "covered length"),
     (10.0, {"covered_kg": -0.1}, "mass covered"), (10.0, {"covered_kg": 50.1}, "mass covered")],
)
def test_lengths_and_masses_that_no_job_has_are_refused(
    length_m: float, cover: dict[str, float], message: str
) -> None:
    with pytest.raises(TradeError, match=f"{message} is .*permitted range"):
        charge_trim("R-410A", "3/8", length_m, adder_kg_per_m=0.05, **cover)  # type: ignore[arg-type]


def test_the_widest_lengths_and_masses_are_taken() -> None:
    assert charge_trim("R-410A", "3/8", 150.0, covered_m=150.0).change_kg == pytest.approx(0.0)
    assert charge_trim("R-410A", "3/8", 0.0, covered_kg=50.0).change_kg == pytest.approx(-50.0)
    assert charge_trim("R-410A", "3/8", 0.0, covered_m=0.0).change_kg == 0.0
    assert charge_trim("R-410A", "3/8", 0.5, covered_kg=0.0).change_kg > 0.0


@pytest.mark.parametrize(
    ("more", "message"),
    [({}, "missing"), ({"covered_m": 5.0, "covered_kg": 0.1}, "twice"),
     ({"covered_m": 5.0, "adder_kg_per_m": -1.0}, "adder")],
)
def test_bad_cover_is_refused(more: dict[str, float], message: str) -> None:
    with pytest.raises(TradeError, match=message):
        charge_trim("R-410A", "3/8", 10.0, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(("name", "size"), [("R-410A", "9/16"), ("R-77", "3/8")])
def test_unknown_names_are_refused(name: str, size: str) -> None:
    with pytest.raises(TradeError, match="not known"):
        charge_trim(name, size, 10.0, covered_m=5.0)
