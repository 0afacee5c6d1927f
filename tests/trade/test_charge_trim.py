"""Charge trim against tube geometry and makers' worked examples."""

from __future__ import annotations

import pytest

from fieldvoice.quantity.constants import KG_PER_OZ, M_PER_FOOT
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


def test_without_an_adder_the_bound_is_said_to_be_one() -> None:
    found = charge_trim("R-32", "3/8", 30 * M_PER_FOOT, covered_m=15 * M_PER_FOOT)
    assert not found.from_equipment
    assert "equipment's own figure" in found.reason
    assert "flammable" in found.next_action


def test_an_unlikely_adder_is_questioned() -> None:
    found = charge_trim("R-410A", "3/8", 10.0, covered_m=5.0, adder_kg_per_m=0.6)
    assert "unusual" in found.reason


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
