"""The checks of superheat and subcooling against published bands, and the floor under them."""

from __future__ import annotations

import pytest

from fieldvoice.trade.charge.charge_check import (
    ChargeCheck,
    check_subcooling,
    check_superheat,
    check_valve_superheat,
)
from fieldvoice.trade.errors import TradeError


@pytest.mark.parametrize(
    ("measured", "target", "verdict"),
    # California Energy Commission 2008 RA3 p. 14: within 5 F for the installer
    [(18, 18, "on-target"), (23, 18, "on-target"), (13, 18, "on-target"), (23.1, 18, "high"),
     (12.9, 18, "low"),
     # Lennox 14ACX manual p. 26: never below 5 F, whatever the target
     (5, 6, "on-target"), (4.9, 6, "low"), (1.2, 6, "low"), (5, 10, "on-target"), (4.9, 10, "low"),
     (11, 6, "on-target"), (11.1, 6, "high"), (-2, 5, "low"), (6, 12, "low")],
)
def test_superheat_may_be_five_degrees_off_and_never_below_five(
    measured: float, target: float, verdict: str
) -> None:
    found = check_superheat(measured, target)
    assert found.verdict == verdict
    assert found.within is (verdict == "on-target")


@pytest.mark.parametrize(
    ("measured", "verdict"),
    # RA3 p. 15: the maker's range, else 4 to 25 F (installer); the floor of 5 F is stricter
    [(4.5, "low"), (4.9, "low"), (5.0, "on-target"), (12, "on-target"), (25, "on-target"),
     (25.1, "high"), (-1, "low")],
)
def test_an_expansion_valve_keeps_a_range(measured: float, verdict: str) -> None:
    found = check_valve_superheat(measured)
    assert (found.verdict, found.target_f) == (verdict, None)
    assert "an expansion valve keeps 5 to 25" in found.reason


@pytest.mark.parametrize(
    ("measured", "verdict"),
    # RA3 p. 15: short of the target by 3 F or more fails
    [(10, "on-target"), (7.1, "on-target"), (7, "low"), (12.9, "on-target"), (13, "high")],
)
def test_subcooling_short_by_three_degrees_fails(measured: float, verdict: str) -> None:
    assert check_subcooling(measured, 10).verdict == verdict


def test_the_reason_names_the_floor_where_it_counts() -> None:
    assert check_superheat(1.24, 6).reason == "Superheat is 1.2 °F, target 6.0, never below 5."
    assert check_superheat(12, 10).reason == "Superheat is 12.0 °F, target 10.0, never below 5."
    assert check_superheat(12, 18).reason == "Superheat is 12.0 °F, target 18.0."
    assert check_subcooling(9.7, 14).reason == "Subcooling is 9.7 °F, target 14.0."


@pytest.mark.parametrize(
    ("found", "words"),
    [(check_superheat(1, 8), "recover a little"), (check_superheat(8, 8), "Leave the charge"),
     (check_superheat(28, 8), "add a little"), (check_subcooling(1, 8), "add a little"),
     (check_subcooling(8, 8), "Leave the charge"), (check_subcooling(28, 8), "recover a little"),
     (check_valve_superheat(1), "liquid can reach the compressor"),
     (check_valve_superheat(9), "Leave the valve"), (check_valve_superheat(30), "starves")],
)
def test_what_to_do_follows_the_side_that_it_is_off(found: ChargeCheck, words: str) -> None:
    assert words in found.next_action


def test_a_check_keeps_what_it_compared() -> None:
    assert check_superheat(9, 8).to_dict() | {"reason": "", "next_action": "", "source": ""} == {
        "kind": "superheat", "measured_f": 9, "target_f": 8, "low_f": 5, "high_f": 13,
        "verdict": "on-target", "within": True, "reason": "", "next_action": "", "source": ""}
    found = check_subcooling(9, 8)
    assert (found.kind, found.low_f, found.high_f) == ("subcooling", 5, 11)
    assert "RA3" in found.source
    assert "never below 5 F" in check_valve_superheat(9).source
    kept = check_valve_superheat(9)
    assert (kept.kind, kept.low_f, kept.high_f) == ("superheat", 5, 25)


@pytest.mark.parametrize("target", [4.9, 60.1, float("nan")])
def test_a_superheat_target_that_no_chart_gives_is_refused(target: float) -> None:
    with pytest.raises(TradeError, match="target superheat"):
        check_superheat(10, target)


@pytest.mark.parametrize("target", [-0.1, 60.1])
def test_a_subcooling_target_that_no_plate_gives_is_refused(target: float) -> None:
    with pytest.raises(TradeError, match="target subcooling"):
        check_subcooling(10, target)


def test_the_widest_targets_are_taken() -> None:
    assert check_superheat(60, 60).within
    assert check_superheat(5, 5).within
    assert check_subcooling(60, 60).within
    assert check_subcooling(0, 0).within


def test_a_measurement_that_is_no_number_is_refused() -> None:
    for check in (lambda v: check_superheat(v, 10), lambda v: check_subcooling(v, 10),
                  check_valve_superheat):
        with pytest.raises(TradeError, match="not a number"):
            check(float("nan"))
