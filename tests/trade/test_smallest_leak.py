"""The smallest leak of a nitrogen hold against a published example and published conversions."""

from __future__ import annotations

import pytest

from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.nitrogen.smallest_leak import smallest_leak


def test_the_published_example_of_a_rise_is_given_back_as_a_loss() -> None:
    # 40 CFR 1065.644: 2.0000 L, 293.15 K, 25.300 to 50.600 kPa in 70 s: 2.9657e-4 mol/s
    found = smallest_leak(25_300.0, 70.0, 2.0e-3, 50_600.0, 293.15)
    assert found.mol_per_s == pytest.approx(2.9657e-4, rel=1e-4)
    assert found.pa_m3_per_s == pytest.approx(0.7229, rel=1e-4)  # 0.0253e6 x 0.002 / 70
    # 28.0134 g/mol (IUPAC) and 31,557,600 s a year: 2.9657e-4 mol/s is 262.18 kg a year
    assert found.nitrogen_kg_per_year == pytest.approx(262.18, rel=1e-4)
    assert (found.refrigerant, found.refrigerant_kg_per_year) == (None, None)


@pytest.mark.parametrize(
    ("name", "mbar_l_per_s"),
    # 5 g a year at 0 C, a code-grade leak (worked out with molar masses 52.02, 62.6, 72.6)
    [("R-32", 6.9e-5), ("R-454B", 5.7e-5), ("r410a", 5.0e-5)],
)
def test_a_leak_of_five_grams_a_year(name: str, mbar_l_per_s: float) -> None:
    # a loss of 1 Pa from a litre; 1 mbar L/s = 0.1 Pa m3/s
    seconds = 1.0e-3 / (mbar_l_per_s * 0.1)
    found = smallest_leak(1.0, seconds, 1.0e-3, 3.0e6, 273.15, name)
    assert found.refrigerant_kg_per_year == pytest.approx(5.0e-3, rel=0.04)
    assert found.refrigerant == {"r410a": "R-410A"}.get(name, name)
    assert "moles" in found.to_dict()["assumption"]


def test_a_very_small_loss_is_a_leak_too() -> None:
    # half a pascal in a day from a litre: 0.5 x 0.001 / 86,400 Pa m3/s
    assert smallest_leak(0.5, 86_400.0, 1e-3, 3e6, 293.15).pa_m3_per_s == pytest.approx(
        5.787e-9, rel=1e-3)


@pytest.mark.parametrize(
    ("loss", "pressure", "name", "message"),
    [(0.0, 1e6, None, "loss of pressure is 0"), (-1.0, 1e6, None, "above zero"),
     (1.1e6, 1e6, None, "permitted range"), (1.0, 1e6, "R-77", "not known")],
)
def test_a_leak_that_cannot_be_is_refused(
    loss: float, pressure: float, name: str | None, message: str
) -> None:
    with pytest.raises(TradeError, match=message):
        smallest_leak(loss, 60.0, 1e-3, pressure, 293.15, name)
