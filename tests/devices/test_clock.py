"""Clocks: aware, steady, and never backwards."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from fieldvoice.devices.clock import BOOT_ID, Clock, Restart, SimulatedClock


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


class Hands:
    """A wall clock and a steady one that are moved by hand."""

    def __init__(self) -> None:
        self.shows, self.steady_s = datetime(2026, 3, 2, 9, tzinfo=UTC), 1000.0

    def wall(self) -> datetime:
        return self.shows

    def steady(self) -> float:
        return self.steady_s

    def clock(self, boot: str = "a") -> Clock:
        return Clock(self.wall, self.steady, boot)

    def move(self, seconds: float) -> None:
        self.shows += timedelta(seconds=seconds)
        self.steady_s += seconds

    def set(self, seconds: float) -> None:
        self.shows += timedelta(seconds=seconds)


NONE = timedelta()


@pytest.mark.parametrize("seconds", [3600.0, -3600.0, 2.5, -2.5])
def test_a_clock_that_is_set_moves_no_time_and_is_noticed_once(seconds: float) -> None:
    hands = Hands()
    clock, began = hands.clock(), hands.shows
    hands.move(60)
    assert clock.jump() is None
    hands.set(seconds)
    hands.move(1)
    assert clock.now() == began + timedelta(seconds=61)
    jump = clock.jump()
    assert jump is not None
    assert jump.seconds == pytest.approx(seconds)
    assert jump.before == began + timedelta(seconds=61)
    assert jump.after == hands.shows
    assert clock.jump() is None


def test_a_slow_correction_is_no_jump() -> None:
    hands = Hands()
    clock = hands.clock()
    for _ in range(100):
        hands.move(1)
        hands.set(0.5)
        assert clock.jump() is None


def test_a_program_that_is_stopped_between_two_readings_sees_no_jump() -> None:
    hands, stopped = Hands(), [False]

    def wall() -> datetime:
        shown = hands.shows
        if stopped[0]:
            stopped[0] = False
            hands.move(15)
        return shown

    clock = Clock(wall, hands.steady, "a")
    stopped[0] = True
    assert clock.jump() is None


def test_within_one_boot_a_log_goes_on_by_the_steady_clock() -> None:
    hands = Hands()
    before, began = hands.clock(), hands.shows
    hands.move(60)
    last, mono, zero = before.now(), hands.steady_s, began - timedelta(seconds=1000)
    hands.move(300)
    hands.set(-7200)
    clock = hands.clock()
    assert clock.go_on(last, mono, zero, "a", NONE) is None
    assert clock.now() == last + timedelta(seconds=300)
    jump = clock.jump()  # what happened to it while no program ran
    assert jump is not None
    assert jump.seconds == pytest.approx(-7200)


def test_a_jump_that_a_log_tells_of_is_not_told_again() -> None:
    hands = Hands()
    before, began = hands.clock(), hands.shows
    hands.set(3600)
    hands.move(10)
    clock = hands.clock()
    clock.go_on(before.now(), hands.steady_s, began - timedelta(seconds=1000), "a",
                timedelta(hours=1))
    assert clock.jump() is None
    assert clock.now() == before.now()


def test_after_a_restart_the_wall_clock_tells_less_what_it_was_set_by() -> None:
    hands = Hands()
    last = hands.shows
    hands.move(300)
    hands.set(3600)
    hands.steady_s = 20.0
    clock = hands.clock("b")
    found = clock.go_on(last, 1000.0, last - timedelta(seconds=1000), "a", timedelta(hours=1))
    assert found == Restart(hands.shows, behind=False)
    assert clock.now() == last + timedelta(seconds=300)
    assert clock.jump() is None


def test_after_a_restart_with_a_clock_behind_the_log_time_does_not_run_back() -> None:
    hands = Hands()
    last = hands.shows
    hands.set(-86400)
    hands.steady_s = 20.0
    clock = hands.clock("b")
    found = clock.go_on(last, 1000.0, last - timedelta(seconds=1000), "a", NONE)
    assert found == Restart(hands.shows, behind=True)
    assert clock.now() == last
    hands.move(5)
    assert clock.now() == last + timedelta(seconds=5)
    assert clock.jump() is None


@pytest.mark.parametrize(("steady", "set_by", "restart"), [(300, 0, False), (300, 60, True),
                                                           (-900, 0, True)])
def test_where_boots_have_no_names_both_clocks_must_agree(
    steady: float, set_by: float, restart: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("fieldvoice.devices.clock.BOOT_ID", Path("/nowhere"))
    hands = Hands()
    last, zero = hands.shows, hands.shows - timedelta(seconds=1000)
    hands.set(300 + set_by)
    hands.steady_s += steady
    clock = Clock(hands.wall, hands.steady)
    assert clock.boot is None
    assert (clock.go_on(last, 1000.0, zero, None, NONE) is not None) == restart


@pytest.mark.skipif(not BOOT_ID.exists(), reason="only Linux names its boots")
def test_the_system_names_its_boot() -> None:
    assert Clock().boot == BOOT_ID.read_text().strip()
