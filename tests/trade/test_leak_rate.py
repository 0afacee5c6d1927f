"""Leak rate from two pressures and mass a year against published figures, and what is refused."""

from __future__ import annotations

import pytest

from fieldvoice.quantity.constants import PA_PER_ATM
from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.refrigerant.refrigerants import refrigerant
from fieldvoice.trade.vacuum.leak_rate import kg_a_year, leak_rate


def test_the_published_example() -> None:
    # 40 CFR 1065.644: 2.0000 L, 293.15 K, 25.300 to 50.600 kPa in 70 s: 2.9657e-4 mol/s
    found = leak_rate(2.0e-3, 25.3e3, 50.6e3, 70.0)
    assert found.mol_per_s == pytest.approx(2.9657e-4, rel=1e-4)
    assert found.pa_m3_per_s == pytest.approx(0.7229, rel=1e-4)
    # leak-rate unit table (PED guidance): 1 Pa m3/s = 10 mbar L/s; 1 mbar L/s = 0.750 torr L/s
    assert found.mbar_l_per_s == pytest.approx(7.229, rel=1e-4)
    assert found.micron_l_per_s == pytest.approx(7.229 * 750.06, rel=1e-4)
    assert dict(found.to_dict()["inputs"])["seconds"] == 70.0


def test_gas_that_only_warms_is_no_leak() -> None:
    # gas law: 100 kPa at 280 K is 103.571 kPa at 290 K
    found = leak_rate(0.01, 100e3, 100e3 * 290 / 280, 600.0, first_k=280.0, last_k=290.0)
    assert found.mol_per_s == pytest.approx(0.0, abs=1e-15)


def test_flow_is_that_at_the_last_temperature() -> None:
    # a mole of gas fills 22.414 L at 0 C and 1 atm (CODATA): a mole in that volume in 100 s
    found = leak_rate(0.022414, 1e-3, PA_PER_ATM, 100.0, first_k=300.0, last_k=273.15)
    assert found.mol_per_s == pytest.approx(0.01, rel=1e-4)
    assert found.pa_m3_per_s == pytest.approx(0.01 * 2271.1, rel=1e-4)


def test_a_large_system_under_test_pressure_is_taken() -> None:
    # gas law: 90 m3 that lose 100 kPa of 6.9 MPa at 293.15 K in an hour: 2.5 kPa m3/s out
    found = leak_rate(90.0, 6.9e6, 6.8e6, 3600.0)
    assert found.pa_m3_per_s == pytest.approx(-2500.0)


@pytest.mark.parametrize(
    ("values", "what"),
    [((0.0, 1.0, 2.0, 1.0), "system volume"), ((101.0, 1.0, 2.0, 1.0), "system volume"),
     ((1.0, 0.0, 2.0, 1.0), "first pressure"), ((1.0, 1.0, 0.0, 1.0), "last pressure"),
     ((1.0, 7.1e6, 2.0, 1.0), "first pressure"), ((1.0, 1.0, 7.1e6, 1.0), "last pressure"),
     ((1.0, 1.0, 2.0, 0.0), "time between"), ((1.0, 1.0, 2.0, 1.0, 0.0), "first temperature"),
     ((1.0, 1.0, 2.0, 1.0, 280.0, 0.0), "last temperature")],
)
def test_leaks_that_cannot_be_are_refused(values: tuple[float, ...], what: str) -> None:
    with pytest.raises(TradeError, match=what):
        leak_rate(*values)


# computed scale of the leak-rate unit tables (1 mol/s = 2.27e3 Pa m3/s at 0 C):
# 5 g a year is 6.9e-5, 5.7e-5 (R-454B), 5.0e-5 (R-410A) mbar L/s
@pytest.mark.parametrize(
    ("name", "mbar_l_per_s"), [("R-32", 6.9e-5), ("R-454B", 5.7e-5), ("R-410A", 5.0e-5)]
)
def test_five_grams_a_year(name: str, mbar_l_per_s: float) -> None:
    found = kg_a_year(0.1 * mbar_l_per_s, refrigerant(name).molar_kg, gas_k=273.15)
    assert found == pytest.approx(0.005, rel=0.01)


def test_a_gas_temperature_below_nothing_is_refused() -> None:
    with pytest.raises(TradeError, match="gas temperature"):
        kg_a_year(1e-6, 0.05, gas_k=0.0)
