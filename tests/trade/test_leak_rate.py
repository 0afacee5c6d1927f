"""Leak throughput as mass a year, against published figures."""

from __future__ import annotations

import pytest

from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.vacuum.leak_rate import MOLAR_KG, kg_a_year


# computed scale of the leak-rate unit tables (1 mol/s = 2.27e3 Pa m3/s at 0 C):
# 5 g a year is 6.9e-5, 5.7e-5 (R-454B), 5.0e-5 (R-410A) mbar L/s
@pytest.mark.parametrize(
    ("name", "mbar_l_per_s"), [("R-32", 6.9e-5), ("R-454B", 5.7e-5), ("R-410A", 5.0e-5)]
)
def test_five_grams_a_year(name: str, mbar_l_per_s: float) -> None:
    found = kg_a_year(0.1 * mbar_l_per_s, MOLAR_KG[name], gas_k=273.15)
    assert found == pytest.approx(0.005, rel=0.01)


@pytest.mark.parametrize("name", sorted(MOLAR_KG))
def test_molar_masses_are_those_of_coolprop(name: str) -> None:
    library = pytest.importorskip("CoolProp.CoolProp")
    # R-454B: 68.9 % R-32 and 31.1 % R-1234yf by mass (ASHRAE 34)
    if name == "R-454B":
        light, heavy = (library.PropsSI("M", fluid) for fluid in ("R32", "R1234yf"))
        known = 1.0 / (0.689 / light + 0.311 / heavy)
    else:
        known = library.PropsSI("M", name.replace("-", ""))
    assert MOLAR_KG[name] == pytest.approx(known, rel=1e-3)


def test_a_gas_temperature_below_nothing_is_refused() -> None:
    with pytest.raises(TradeError, match="gas temperature"):
        kg_a_year(1e-6, 0.05, gas_k=0.0)
