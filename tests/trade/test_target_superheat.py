"""Target superheat against a maker's chart, and the checks' published bands."""

from __future__ import annotations

import pytest

from fieldvoice.quantity.constants import f_to_k
from fieldvoice.trade.charge.target_superheat import (
    check_subcooling,
    check_superheat,
    target_superheat,
)
from fieldvoice.trade.errors import TradeError


@pytest.mark.parametrize(
    ("outdoor", "wet", "target"),
    # Lennox 14ACX manual p. 26
    [(55, 50, 9), (55, 76, 44), (65, 52, 6), (75, 60, 12), (85, 64, 11), (95, 64, 6), (95, 70, 18),
     (105, 66, 5), (115, 70, 8), (115, 76, 24)],
)
def test_the_printed_chart_is_given_back(outdoor: float, wet: float, target: float) -> None:
    assert target_superheat(f_to_k(wet), f_to_k(outdoor)).target_f == pytest.approx(target)


def test_between_cells_it_interpolates() -> None:
    # between 95/70 (18) and 95/72 (22) of the same chart
    assert target_superheat(f_to_k(71), f_to_k(95)).target_f == pytest.approx(20.0)


def test_the_rule_of_thumb_stands_beside_it() -> None:
    # (3 x 66 - 80 - 95) / 2 = 11.5, where the chart prints 10
    found = target_superheat(f_to_k(66), f_to_k(95))
    assert found.formula_f == pytest.approx(11.5)
    assert found.target_f == pytest.approx(10.0)
    assert "common practice" in found.formula_source


@pytest.mark.parametrize(("outdoor", "wet"), [(95, 60), (115, 60), (65, 50), (85, 61)])
def test_a_dash_in_the_chart_is_a_refusal(outdoor: float, wet: float) -> None:
    with pytest.raises(TradeError, match="no target superheat"):
        target_superheat(f_to_k(wet), f_to_k(outdoor))


@pytest.mark.parametrize(("outdoor", "wet"), [(50, 66), (120, 66), (95, 40), (95, 80)])
def test_outside_the_chart_is_a_refusal(outdoor: float, wet: float) -> None:
    with pytest.raises(TradeError, match="permitted range"):
        target_superheat(f_to_k(wet), f_to_k(outdoor))


@pytest.mark.parametrize(
    ("measured", "within"), [(10, True), (15, True), (5, True), (16, False), (4, False)]
)
def test_superheat_may_be_five_degrees_off(measured: float, within: bool) -> None:
    # California Energy Commission 2008 RA3 p. 14: within 5 F for the installer
    assert check_superheat(measured, 10).within is within


@pytest.mark.parametrize(("measured", "within"), [(10, True), (7.5, True), (7, False), (14, False)])
def test_subcooling_short_by_three_degrees_fails(measured: float, within: bool) -> None:
    # California Energy Commission 2008 RA3 p. 15: short by 3 F or more fails
    assert check_subcooling(measured, 10).within is within
