"""The microphone: sound as it comes, deaf while Fieldvoice speaks, lost and found again."""

import itertools

import numpy as np
import pytest

from fieldvoice.devices import microphone
from fieldvoice.devices.microphone import Microphone, MicrophoneError, has_microphone


class Device:
    def close(self) -> None:
        pass


class Pretended(Microphone):
    """A microphone whose device is told by the test: how often it is missing when it is opened."""

    def __init__(self, troubles: list[str], missing: int = 0, deaf: bool = False) -> None:
        self.deaf_now, self.missing, self.opened = deaf, missing, 0
        super().__init__(troubles.append, lambda: self.deaf_now)

    def _open(self) -> None:
        self.opened += 1
        if 1 < self.opened <= 1 + self.missing:
            raise MicrophoneError("none")
        self._device = Device()
        self._sound.put(np.full(160, self.opened, dtype=np.int16).tobytes())


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(microphone, "BEAT_S", 0.001)
    monkeypatch.setattr(microphone, "LOST_AFTER_S", 0.005)
    monkeypatch.setattr(microphone, "RETRY_S", 0.002)


def first_values(ear: Microphone, count: int) -> list[int]:
    sounding = (int(chunk[0]) for chunk in ear.chunks() if len(chunk))
    return list(itertools.islice(sounding, count))


def test_sound_arrives_and_close_ends_it() -> None:
    ear = Pretended([])
    assert first_values(ear, 1) == [1]
    ear.close()
    assert list(ear.chunks()) == []


def test_while_deaf_sound_is_dropped_but_the_beat_goes_on() -> None:
    ear = Pretended([], deaf=True)
    assert len(next(ear.chunks())) == 0
    ear.deaf_now = False
    ear._sound.put(np.full(160, 9, dtype=np.int16).tobytes())
    assert first_values(ear, 1) == [9]


@pytest.mark.parametrize("missing", [0, 3])
def test_a_lost_microphone_is_told_tried_again_and_told_when_back(missing: int) -> None:
    troubles: list[str] = []
    ear = Pretended(troubles, missing)
    assert first_values(ear, 2) == [1, 2 + missing]
    assert ["lost" in troubles[0], "back" in troubles[1], len(troubles)] == [True, True, 2]


@pytest.mark.skipif(has_microphone(), reason="this computer has a microphone")
def test_without_a_microphone_the_way_on_is_told() -> None:
    with pytest.raises(MicrophoneError, match="go on by typing"):
        Microphone(lambda text: None)
