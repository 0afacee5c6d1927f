"""The highest pressure that systems of a refrigerant are tested to."""

from __future__ import annotations

import pytest

from fieldvoice.quantity.constants import PA_PER_ATM, PA_PER_PSI
from fieldvoice.trade.nitrogen.highest_test import HOTTEST_K, PUBLISHED_GAUGE_PA, highest_test


@pytest.mark.parametrize("name", ["R-410A", "r32", None, "R-999"])
def test_the_highest_published_is_602_psig(name: str | None) -> None:
    """Sanyo and Technibel R-410A, Toshiba RAV-GP561ATW-E p. 17: 4.15 MPa, printed as 602 psig."""
    assert highest_test(name).gauge_pa / PA_PER_PSI == pytest.approx(602, abs=0.5)
    assert highest_test(name).published


def test_saturation_at_65_c_is_the_published_test_within_a_hundredth() -> None:
    CoolProp = pytest.importorskip("CoolProp.CoolProp")
    pa = CoolProp.PropsSI("P", "T", HOTTEST_K, "Q", 0, "R410A") - PA_PER_ATM
    assert pa == pytest.approx(PUBLISHED_GAUGE_PA["R-410A"], rel=0.01)


@pytest.mark.parametrize(("name", "coolprop"), [("R-134a", "R134a"), ("R-22", "R22")])
def test_others_follow_their_saturation(name: str, coolprop: str) -> None:
    CoolProp = pytest.importorskip("CoolProp.CoolProp")
    pa = CoolProp.PropsSI("P", "T", HOTTEST_K, "Q", 0, coolprop) - PA_PER_ATM
    found = highest_test(name)
    assert found.gauge_pa == pytest.approx(pa, rel=1e-3)
    assert (found.refrigerant, found.published) == (name, False)
