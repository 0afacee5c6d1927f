"""How refrigerants burn, and from which charge the room counts."""

from __future__ import annotations

import pytest

from fieldvoice.trade.refrigerant.flammable_charge import burning, room_charge_kg, stricter


@pytest.mark.parametrize(
    ("name", "burns"),  # ASHRAE 34, from memory
    [("R-410A", "not-flammable"), ("R-22", "not-flammable"), ("r32", "mildly-flammable"),
     ("R-454B", "mildly-flammable"), ("R-999", None)],
)
def test_how_it_burns_follows_from_the_refrigerant(name: str, burns: str | None) -> None:
    assert burning(name) == burns


def test_the_stricter_of_two_is_the_one_that_burns_more() -> None:
    assert stricter("not-flammable", "mildly-flammable") == "mildly-flammable"
    assert stricter("highly-flammable", "mildly-flammable") == "highly-flammable"


@pytest.mark.parametrize(
    ("name", "burns", "kg"),
    [
        # UL 60335-2-40, from memory: 6 m3 x 0.307 kg/m3 and x 0.30 (R-454B)
        ("R-32", "mildly-flammable", 1.842), ("R-454B", "mildly-flammable", 1.80),
        # IEC 60335-2-40, from memory: 4 m3 x 0.038 kg/m3, propane's limit
        ("R-32", "highly-flammable", 0.152), (None, "highly-flammable", 0.152),
        (None, None, 0.152),
    ],
)
def test_the_charge_from_which_the_room_counts(
    name: str | None, burns: str | None, kg: float
) -> None:
    assert room_charge_kg(name, burns) == pytest.approx(kg, rel=1e-9)


def test_a_mildly_flammable_one_that_is_not_known_is_taken_for_the_strictest() -> None:
    assert room_charge_kg(None, "mildly-flammable") <= 1.80
    assert room_charge_kg("R-410A", "mildly-flammable") == room_charge_kg(None, "mildly-flammable")
