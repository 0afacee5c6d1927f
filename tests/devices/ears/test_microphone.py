"""The microphone of a session: missing, found, lost, found again; told once, and truly."""

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import numpy as np
import pytest

from fieldvoice.devices.ears import Block, Found, Microphone, microphone
from fieldvoice.errors import FieldvoiceError

BUILT_IN = Found("Built-in", "hw:0,0", b"0")
HEADSET = Found("Headset", "hw:1,0", b"1", default=True)
MONITOR = Found("Monitor of Headset", "out.monitor", b"2", default=True)


class Device:
    def __init__(self, system: "Computer", heard: Callable[[Block], None]) -> None:
        self._system, self._heard = system, heard
        self.closed = False
        threading.Thread(target=self._sound, daemon=True).start()

    def close(self) -> None:
        self.closed = True
        self._system.closings += 1

    def _sound(self) -> None:
        while not self.closed:
            if self._system.sounds:
                number = self._system.openings
                self._heard(Block(np.full(16, number, dtype=np.int16), time.monotonic()))
            time.sleep(0.002)


class Computer:
    """Devices that the test takes away and brings."""

    def __init__(self, *devices: Found) -> None:
        self.devices = list(devices)
        self.sounds = True
        self.refuses = False
        self.openings = self.closings = 0
        self.opened: list[str] = []

    def found(self) -> list[Found]:
        return list(self.devices)

    def open(self, device: Found, heard: Callable[[Block], None]) -> Device:
        if self.refuses:
            raise FieldvoiceError(f"the microphone {device.name} cannot be used")
        self.openings += 1
        self.opened.append(device.name)
        return Device(self, heard)


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(microphone, "CHECK_S", 0.01)
    monkeypatch.setattr(microphone, "LOST_AFTER_S", 0.2)
    monkeypatch.setattr(microphone, "FIRST_SOUND_S", 0.3)
    monkeypatch.setattr(microphone, "RETRY_S", 0.02)


class Kept:
    """A microphone that is kept by a thread, and what it told."""

    def __init__(self, system: Computer, wanted: str | None = None) -> None:
        self.told: list[str] = []
        self.ear = Microphone(self.told.append, wanted, system=system)
        self.thread = threading.Thread(target=self.ear.keep, args=(lambda: True,), daemon=True)
        self.thread.start()

    def until(self, what: Callable[[], object]) -> None:
        for _ in range(3_000):
            if what():
                return
            time.sleep(0.005)
        raise AssertionError(f"in vain; told {self.told}")


@contextmanager
def kept(system: Computer, wanted: str | None = None) -> Iterator[Kept]:
    found = Kept(system, wanted)
    try:
        yield found
    finally:
        found.ear.close()
        found.thread.join(5)
        assert not found.thread.is_alive()


def test_sound_arrives_and_close_ends_it() -> None:
    system = Computer(BUILT_IN, HEADSET)
    with kept(system) as ears:
        ears.until(lambda: ears.ear.block(0.1))
    assert (system.opened, system.closings, ears.told) == (["Headset"], 1, [])


def test_without_a_microphone_that_is_told_once_and_one_that_comes_is_heard() -> None:
    system = Computer(MONITOR)
    with kept(system) as ears:
        ears.until(lambda: ears.told)
        time.sleep(0.1)
        assert len(ears.told) == 1
        assert ears.told[0].startswith("No microphone found.")
        system.devices.append(BUILT_IN)
        ears.until(lambda: len(ears.told) == 2)
        assert ears.told[1] == "I hear with Built-in now."
        assert ears.ear.block(1) is not None
    assert set(system.opened) == {"Built-in"}


def test_a_name_that_is_not_there_is_told_with_those_that_are() -> None:
    with kept(Computer(BUILT_IN, MONITOR), "lapel") as ears:
        ears.until(lambda: ears.told)
    assert ears.told == [
        "No microphone called lapel. There is: Built-in. Plug it in, or type."]


def test_a_lost_one_is_told_tried_again_and_told_when_it_is_back() -> None:
    system = Computer(HEADSET)
    with kept(system) as ears:
        ears.until(lambda: ears.ear.block(0.1))
        system.sounds, system.devices = False, []
        ears.until(lambda: ears.told)
        assert ears.ear.lost
        time.sleep(0.1)
        system.sounds, system.devices = True, [HEADSET]
        ears.until(lambda: len(ears.told) == 2)
        assert not ears.ear.lost
    assert ears.told == [microphone.LOST, microphone.BACK]
    assert system.openings == system.closings


def test_another_one_that_takes_its_place_is_named() -> None:
    system = Computer(HEADSET, BUILT_IN)
    with kept(system) as ears:
        ears.until(lambda: ears.ear.block(0.1))
        system.sounds = False
        ears.until(lambda: ears.told)
        system.devices, system.sounds = [BUILT_IN], True
        ears.until(lambda: len(ears.told) == 2)
    assert ears.told[1] == "I hear with Built-in now."


def test_the_first_sound_after_a_loss_is_marked() -> None:
    system = Computer(HEADSET)
    with kept(system) as ears:
        ears.until(lambda: ears.ear.block(0.1))
        system.sounds = False
        ears.until(lambda: ears.told)
        while ears.ear.block(0.05):
            pass
        system.sounds = True
        found: list[Block] = []
        ears.until(lambda: (b := ears.ear.block(0.1)) and not found.append(b))
        assert found[0].after_gap
        assert found[0].samples[0] != 1


def test_one_that_cannot_be_opened_is_told_once() -> None:
    system = Computer(HEADSET)
    system.refuses = True
    with kept(system) as ears:
        ears.until(lambda: ears.told)
        time.sleep(0.1)
        system.refuses = False
        ears.until(lambda: len(ears.told) == 2)
    assert "cannot be used" in ears.told[0]
    assert ears.told[1] == "I hear with Headset now."
