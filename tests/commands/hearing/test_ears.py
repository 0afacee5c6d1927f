"""Ears that never die: whatever befalls the recognizer is told, and lines are heard again."""

import queue
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest

from fieldvoice.commands.wiring.hearing.ears import (
    KEEP_HEARING,
    RECORDING_ENDED,
    SILENT,
    TOO_LOUD,
    Ears,
)
from fieldvoice.commands.wiring.hearing.watch import Watch
from fieldvoice.commands.wiring.listening import Arrivals, CutShort, Ended, Line
from fieldvoice.commands.wiring.open_ears import _befell
from fieldvoice.devices.ears import Block, Found, Microphone, Sound
from fieldvoice.devices.ears.waiting_sound import WaitingSound
from fieldvoice.devices.recognizer import Recognizer, Utterance
from support.fake_recognizer import FakeRecognizer

PIECE = 800  # samples


class Device:
    """Gives silence, and the words that the test speaks."""

    def __init__(self, heard: Callable[[Block], None]) -> None:
        self._heard, self.closed = heard, False
        self.words: queue.Queue[int] = queue.Queue()
        self.floor = 1  # not flat
        self._at = time.monotonic()

    def close(self) -> None:
        self.closed = True

    def piece(self, value: int) -> None:
        sound = np.tile(np.array([value, -value], dtype=np.int16), PIECE // 2)
        sound[0] = value if value > 10 else 0
        self._heard(Block(sound, self._at))
        self._at += PIECE / 16_000

    def run(self) -> None:
        while not self.closed:
            time.sleep(0.01)  # five times as fast as life
            self.piece(self.floor)
            try:
                value = self.words.get_nowait()
            except queue.Empty:
                continue
            self.piece(value)


class Computer:
    device: Device

    def found(self) -> list[Found]:
        return [Found("Built-in", "hw:0,0", b"")]

    def open(self, device: Found, heard: Callable[[Block], None]) -> Device:
        self.device = Device(heard)
        threading.Thread(target=self.device.run, daemon=True).start()
        return self.device


class Bench:
    def __init__(self, load: Callable[[], Recognizer], folder: Path, push: bool = False) -> None:
        self.told: list[str] = []
        self.arrivals: Arrivals = queue.Queue()
        self.computer = Computer()
        self.trouble = folder / "trouble.log"
        self.watch = Watch(lambda trouble: _befell(trouble, self.told.append, self.trouble))
        ear = Microphone(self.told.append, system=self.computer)
        self.ears = Ears(ear, load, self.arrivals, lambda t: False, self.told.append, self.watch,
                         push)
        self.ears.start()

    def say(self, value: int) -> None:
        self.until(lambda: hasattr(self.computer, "device"))
        self.computer.device.words.put(value)

    def until(self, what: Callable[[], object]) -> None:
        began = time.monotonic()
        while not what():
            assert time.monotonic() - began < 30, self.told
            time.sleep(0.01)

    def line(self) -> Line:
        arrived = self.arrivals.get(timeout=30)
        assert isinstance(arrived, Line)
        return arrived


@contextmanager
def bench(load: Callable[[], Recognizer], folder: Path, push: bool = False) -> Iterator[Bench]:
    found = Bench(load, folder, push)
    try:
        yield found
    finally:
        found.ears.close()
        found.watch.close()


class Failing(FakeRecognizer):
    """Does something odd at its third chunk."""

    def __init__(self, fail: Callable[[], None]) -> None:
        super().__init__()
        self.chunks, self.fail = 0, fail

    def feed(self, chunk: Sound) -> Utterance | None:
        self.chunks += 1
        if self.chunks == 3:
            self.fail()
        return super().feed(chunk)


def once(fail: Callable[[], None]) -> Callable[[], Recognizer]:
    """A recognizer that fails, and then good ones."""
    loaded: list[Recognizer] = []

    def load() -> Recognizer:
        loaded.append(FakeRecognizer() if loaded else Failing(fail))
        return loaded[-1]

    return load


def raise_key_error() -> None:
    raise KeyError("partial")


def test_a_recognizer_that_raises_is_replaced_told_once_and_kept_off_the_screen(
    tmp_path: Path
) -> None:
    with bench(once(raise_key_error), tmp_path) as found:
        found.until(lambda: len(found.told) == 2)
        assert found.told == ["I cannot hear for a moment.", "I hear again."]
        found.say(412)
        assert found.line().words == "412"
        assert "KeyError: 'partial'" in found.trouble.read_text()


def test_a_recognizer_that_blocks_for_ever_is_replaced(tmp_path: Path) -> None:
    blocked = threading.Event()
    with bench(once(lambda: blocked.wait(60) and None), tmp_path) as found:
        found.until(lambda: "I hear again." in found.told)
        found.say(412)
        assert found.line().words == "412"
        assert "stands still" in found.trouble.read_text()
    blocked.set()


def test_a_recognizer_that_always_fails_leaves_typed_lines_and_says_so(tmp_path: Path) -> None:
    with bench(lambda: Failing(raise_key_error), tmp_path) as found:
        found.until(lambda: len(found.told) == 2)
        assert found.told == ["I cannot hear for a moment.",
                              "I cannot hear. Type your lines; I keep trying."]
        assert found.ears.standing().state == "off"


def test_a_callback_that_stops_is_a_lost_microphone_and_it_comes_back(tmp_path: Path) -> None:
    with bench(FakeRecognizer, tmp_path) as found:
        found.say(17)
        found.until(lambda: not found.arrivals.empty() or found.told)
        found.computer.device.closed = True
        began = time.monotonic()
        found.until(lambda: found.told)
        assert time.monotonic() - began < 15
        assert found.ears.standing().state == "lost"
        found.until(lambda: len(found.told) == 2)
        assert found.told[1] == "The microphone is back."
        assert found.ears.standing().state == "listening"


def test_a_silent_microphone_is_told_once(tmp_path: Path) -> None:
    with bench(FakeRecognizer, tmp_path) as found:
        found.until(lambda: hasattr(found.computer, "device"))
        found.computer.device.floor = 0
        found.until(lambda: found.told)
        time.sleep(0.5)
        assert found.told == [SILENT]
        assert found.ears.standing().silent


def test_what_is_too_loud_is_told_and_marked(tmp_path: Path) -> None:
    with bench(FakeRecognizer, tmp_path) as found:
        time.sleep(0.2)
        found.say(32_700)
        assert found.line().clipped
        found.say(32_700)
        assert found.line().clipped
        assert found.told == [TOO_LOUD]


def test_only_while_the_talk_key_is_on_is_anything_heard(tmp_path: Path) -> None:
    with bench(FakeRecognizer, tmp_path, push=True) as found:
        found.say(11)
        time.sleep(0.3)
        assert found.ears.standing().state == "push-to-talk"
        found.ears.talk(True)
        time.sleep(0.3)
        assert found.ears.standing().state == "listening"
        assert found.arrivals.empty()
        # the pretended device runs ahead of the clock, so what follows counts as after the key
        found.say(12)
        assert found.line().words == "12"


def test_the_end_of_a_recording_is_told_with_its_last_line(tmp_path: Path) -> None:
    told: list[str] = []
    arrivals: Arrivals = queue.Queue()
    watch = Watch(lambda trouble: told.append(trouble.why))
    sound = np.concatenate([np.zeros(PIECE * 10, np.int16), np.full(PIECE * 2, 9, np.int16)])
    ear = Microphone(told.append, "line.wav", lambda path: sound)
    ears = Ears(ear, FakeRecognizer, arrivals, lambda t: False, told.append, watch)
    ears.start()
    line, end = arrivals.get(timeout=20), arrivals.get(timeout=20)
    assert isinstance(line, Line)
    assert line.words == "9 9"
    assert end == Ended("voice")
    assert told == [RECORDING_ENDED]
    assert ears.standing().state == "off"
    watch.close()


def test_noise_that_seems_cut_again_and_again_is_asked_about_twice_at_most(tmp_path: Path) -> None:
    with bench(FakeRecognizer, tmp_path) as found:
        for _ in range(5):
            found.ears._arrived(CutShort("five", "Say that again.", np.zeros(1, np.int16)))
        assert found.arrivals.qsize() == 2
        assert found.told == [KEEP_HEARING]
        found.ears._arrived(Line("next", "voice"))
        for _ in range(3):
            found.ears._arrived(CutShort("five", "Say that again.", np.zeros(1, np.int16)))
        assert found.told == [KEEP_HEARING] * 2


class Slow(FakeRecognizer):
    """Takes its time for each chunk."""

    pause_s = 0.1

    def feed(self, chunk: Sound) -> Utterance | None:
        time.sleep(self.pause_s)
        return super().feed(chunk)


def test_a_recognizer_that_cannot_keep_up_is_told_of_once_and_when_it_is_over(
    tmp_path: Path
) -> None:
    slow = Slow()
    with bench(lambda: slow, tmp_path) as found:
        found.ears._microphone._sound = WaitingSound(3.0)
        found.until(lambda: found.told)
        time.sleep(1.5)
        assert len(found.told) == 1
        assert found.told[0].startswith("I cannot keep up: this computer is too busy. From ")
        slow.pause_s = 0.0
        found.until(lambda: len(found.told) == 2)
        assert found.told[1].startswith("I keep up again. Between ")
        found.say(412)
        assert found.line().words == "412"


@pytest.mark.parametrize("words", ["five", ""])
def test_someone_speaks_only_while_words_are_heard(tmp_path: Path, words: str) -> None:
    with bench(FakeRecognizer, tmp_path) as found:
        found.ears._words, found.ears._words_since = words, time.monotonic()
        assert found.ears.someone_speaks() is bool(words)
        found.ears._words_since -= 10
        assert not found.ears.someone_speaks()
