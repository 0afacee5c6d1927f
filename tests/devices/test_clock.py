"""Clocks: aware, steady, and never backwards."""

from datetime import UTC, datetime, timedelta

import pytest

from fieldvoice.devices.clock import Clock, SimulatedClock


def test_the_clock_carries_its_offset_and_agrees_with_the_wall() -> None:
    now = Clock().now()
    assert now.utcoffset() is not None
    assert abs(now - datetime.now(UTC)) < timedelta(seconds=5)


def test_the_clock_never_runs_back() -> None:
    clock = Clock()
    times = [clock.now() for _ in range(200)]
    assert times == sorted(times)
    assert clock.steady() <= clock.steady()


def test_a_simulated_clock_moves_by_hand_only() -> None:
    clock = SimulatedClock(datetime(2026, 3, 2, 9, tzinfo=UTC))
    assert clock.now() == clock.now()
    clock.move(timedelta(minutes=10))
    assert clock.now() == datetime(2026, 3, 2, 9, 10, tzinfo=UTC)
    assert clock.steady() == 600.0


def test_a_simulated_clock_refuses_to_run_back_or_to_start_nowhere() -> None:
    with pytest.raises(ValueError, match="back"):
        SimulatedClock(datetime(2026, 3, 2, tzinfo=UTC)).move(timedelta(seconds=-1))
    with pytest.raises(ValueError, match="offset"):
        SimulatedClock(datetime(2026, 3, 2))
