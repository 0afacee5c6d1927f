"""Threads that must not die: each end is noticed, told once, and followed by a new beginning."""

import sys
import threading
import time
from collections.abc import Callable, Iterator

import pytest

from fieldvoice.commands.wiring.hearing import watch as watching
from fieldvoice.commands.wiring.hearing.processor_time import processor_s
from fieldvoice.commands.wiring.hearing.watch import Beat, Trouble, Watch


def until(what: Callable[[], object]) -> float:
    began = time.monotonic()
    while not what():
        assert time.monotonic() - began < 20
        time.sleep(0.005)
    return time.monotonic() - began


class Told:
    def __init__(self) -> None:
        self.all: list[Trouble] = []
        self.watch = Watch(self.all.append)

    @property
    def states(self) -> list[str]:
        return [trouble.state for trouble in self.all if trouble.state]


@pytest.fixture
def told() -> Iterator[Told]:
    found = Told()
    yield found
    found.watch.close()


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(watching, "CHECK_S", 0.01)
    monkeypatch.setattr(watching, "WELL_S", 0.05)


def go_on(beat: Beat) -> None:
    while beat():
        time.sleep(0.005)


@pytest.mark.usefixtures("quick")
@pytest.mark.parametrize("error", [ValueError("odd"), KeyError("partial"), SystemExit(1),
                                   MemoryError(), KeyboardInterrupt()])
def test_a_thread_that_dies_of_anything_is_told_and_begins_anew(
    told: Told, error: BaseException
) -> None:
    begun: list[int] = []

    def work(beat: Beat) -> None:
        begun.append(1)
        if len(begun) == 1:
            raise error
        go_on(beat)

    told.watch.run("ear", work)
    until(lambda: told.states == ["failed", "back"])
    assert type(error).__name__ in told.all[0].why


def test_one_that_stands_still_is_told_within_two_seconds_with_where_it_stands(told: Told) -> None:
    released, begun = threading.Event(), threading.Event()
    late: list[bool] = []

    def work(beat: Beat) -> None:
        beat()
        if not begun.is_set():
            begun.set()
            released.wait(20)
            late.append(beat())
            return
        go_on(beat)

    told.watch.run("ear", work)
    until(lambda: told.states)
    assert "released.wait" in told.all[0].why
    until(lambda: "back" in told.states)
    released.set()
    until(lambda: late)
    assert late == [False]  # its place is taken


@pytest.mark.usefixtures("quick")
def test_what_fails_again_and_again_is_told_once_and_tried_more_rarely(
    told: Told, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(watching, "LATER_S", (0.1, 0.2, 10.0))
    begun: list[float] = []

    def work(beat: Beat) -> None:
        begun.append(time.monotonic())
        raise ValueError

    told.watch.run("ear", work)
    until(lambda: len(begun) == 5)
    assert told.states == ["failed", "failing"]
    assert told.watch.failing("ear")
    assert not told.watch.failing("keys")
    assert begun[3] - begun[2] >= 0.1
    assert begun[4] - begun[3] >= 0.2


@pytest.mark.usefixtures("quick")
def test_work_that_ends_is_left_in_peace(told: Told) -> None:
    ended = threading.Event()

    def work(beat: Beat) -> None:
        beat()
        ended.set()

    told.watch.run("file", work, stall_s=0.05)
    assert ended.wait(5)
    time.sleep(0.2)
    assert told.all == []


def test_a_computer_that_slept_is_no_stall() -> None:
    now = [100.0]
    found: list[Trouble] = []
    watch = Watch(found.append, lambda: now[0])
    released = threading.Event()

    def work(beat: Beat) -> None:
        beat()
        released.wait(20)

    watch.run("ear", work)
    until(lambda: watch._kept[0].run.last is not None)
    watch.close(0)
    now[0] += 3_600
    watch.look()
    assert found == []
    for _ in range(8):
        now[0] += 0.25
        watch.look()
    assert [trouble.state for trouble in found] == ["failed"]
    released.set()


def test_close_ends_all(told: Told) -> None:
    told.watch.run("ear", go_on)
    told.watch.run("eye", go_on)
    told.watch.close()
    assert not any(thread.name in ("ear", "eye") for thread in threading.enumerate())


class Paced:
    """A thread without beats, looked at with a clock and a processor moved by hand."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, pace: float | None) -> None:
        self.now, self.pace, self.told = 100.0, pace, list[Trouble]()
        self.used = 0.0
        self.begun: list[threading.Thread] = []
        self.released = threading.Event()
        monkeypatch.setattr(watching, "processor_s",
                            lambda thread: None if self.pace is None else self.used)
        self.watch = Watch(self.told.append, lambda: self.now)
        self.watch.run("ear", self._work)
        until(lambda: self.watch._kept[0].run.last is not None)
        self.watch.close(0)  # no looks but those of the test

    def _work(self, beat: Beat) -> None:
        self.begun.append(threading.current_thread())
        beat()
        self.released.wait(20)

    def look(self, seconds: float) -> None:
        for _ in range(round(seconds / 0.25)):
            self.now += 0.25
            self.used += 0.25 * (self.pace or 0.0)
            self.watch.look()

    def states(self) -> list[str]:
        return [trouble.state for trouble in self.told]


@pytest.mark.parametrize(("pace", "stands_still"), [
    (0.0, True),  # it is blocked
    (0.02, False),  # it works, and others have the processor
    (1.0, True),  # it has the processor to itself: a loop without an end
    (None, True),  # nobody knows
])  # fmt: skip
def test_a_thread_that_hardly_gets_the_processor_is_slow_and_does_not_stand_still(
    monkeypatch: pytest.MonkeyPatch, pace: float | None, stands_still: bool
) -> None:
    paced = Paced(monkeypatch, pace)
    paced.look(10)
    paced.released.set()
    assert bool(paced.told) is stands_still


def test_slow_work_that_stops_altogether_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    paced = Paced(monkeypatch, 0.02)
    paced.look(10)
    assert paced.told == []
    paced.pace = 0.0
    paced.look(2)
    paced.released.set()
    assert paced.states() == ["failed"]


def test_a_few_that_stand_still_for_good_are_left_and_no_more_are_begun(
    monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(watching, "START_S", 1.5)
    paced = Paced(monkeypatch, None)
    paced.watch._closed.clear()
    for _ in range(300):  # ten minutes
        paced.look(2)
        time.sleep(0.001)
    assert len(paced.begun) == watching.MOST_LEFT + 1
    assert paced.states().count("failing") == 1
    paced.released.set()
    until(lambda: not any(thread.is_alive() for thread in paced.begun[:3]))
    paced.look(61)
    paced.watch._closed.set()
    until(lambda: len(paced.begun) > watching.MOST_LEFT + 1)


@pytest.mark.skipif(sys.platform != "linux", reason="other systems do not tell")
def test_the_processor_time_of_a_thread_is_told_until_it_has_ended() -> None:
    def work() -> None:
        while time.thread_time() < 0.05:
            pass
        done.set()
        end.wait(20)

    done, end = threading.Event(), threading.Event()
    thread = threading.Thread(target=work)
    assert processor_s(thread) is None
    thread.start()
    assert done.wait(20)
    used_s = processor_s(thread)
    assert used_s is not None
    assert 0.05 <= used_s < 20
    end.set()
    thread.join()
    until(lambda: processor_s(thread) is None)
