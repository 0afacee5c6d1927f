"""An engine rests while nothing stirs, and misses nothing of what does."""

import numpy as np
import pytest
from numpy.typing import NDArray

from fieldvoice.devices.dozing import LEAD_S, STILL_S, Dozing
from fieldvoice.devices.recognizer import RATE
from fieldvoice.training.speech.noise import MACHINES
from support.fake_recognizer import FakeRecognizer

Sound = NDArray[np.float64]
PIECE = RATE // 20
SPEECH = 1500.0
LOWS, HIGHS = 200.0, 4000.0  # Hz


class Engine(FakeRecognizer):
    """Remembers what it was given; tells `words` as heard so far."""

    def __init__(self) -> None:
        super().__init__()
        self.given: list[NDArray[np.int16]] = []
        self.words = ""

    def feed(self, chunk: NDArray[np.int16]) -> None:
        self.given.append(chunk)

    def hearing(self) -> str:
        return self.words

    @property
    def seconds(self) -> float:
        return sum(map(len, self.given)) / RATE


def place(seconds: float, machine: str | None = None, decibels: float = 10.0) -> Sound:
    rng = np.random.default_rng(2)
    sound = 3 * rng.standard_normal(round(seconds * RATE))
    if machine:
        sound += MACHINES[machine](len(sound), rng) * SPEECH * 10 ** (-decibels / 20)
    return sound


def tone(hertz: float, seconds: float = 0.3, loud: float = SPEECH) -> Sound:
    return loud * np.sqrt(2) * np.sin(2 * np.pi * hertz * np.arange(round(seconds * RATE)) / RATE)


def heard(sound: Sound, words: str = "") -> Engine:
    engine = Engine()
    engine.words = words
    ear, pcm = Dozing(engine), sound.round().astype(np.int16)
    for at in range(0, len(pcm), PIECE):
        ear.feed(pcm[at : at + PIECE])
    return engine


@pytest.mark.parametrize("machine", [None, *MACHINES])
def test_where_nobody_speaks_the_engine_rests(machine: str | None) -> None:
    assert heard(place(30.0, machine)).seconds < 10.0


@pytest.mark.parametrize("machine", [None, *MACHINES])
@pytest.mark.parametrize("hertz", [LOWS, HIGHS])
def test_what_stirs_is_heard_whole_with_what_came_before_it(
    machine: str | None, hertz: float
) -> None:
    sound = place(20.0, machine)
    sound[12 * RATE : 12 * RATE + len(tone(hertz))] += tone(hertz)
    given = np.concatenate(heard(sound).given)
    whole = sound.round().astype(np.int16)[12 * RATE - round(0.9 * LEAD_S * RATE) : 14 * RATE]
    places = range(0, len(given) - len(whole) + 1)
    first = [at for at in places if given[at] == whole[0]]
    assert any(np.array_equal(given[at : at + len(whole)], whole) for at in first)


def test_a_voice_beside_a_hiss_and_a_hiss_beside_a_hum_are_both_heard() -> None:
    rng, seconds = np.random.default_rng(4), 14.0
    hiss = 700 * rng.standard_normal(round(seconds * RATE))
    hum = tone(100.0, seconds)
    for noise, voice in ((hiss, tone(LOWS)), (hum, tone(HIGHS, loud=200.0))):
        resting = heard(noise).seconds
        noise[12 * RATE : 12 * RATE + len(voice)] += voice
        assert heard(noise).seconds > resting + STILL_S


def test_while_words_are_open_it_does_not_rest() -> None:
    assert heard(place(20.0), words="four hundred").seconds == pytest.approx(20.0)


def test_a_rest_ends_no_line_and_tells_no_word() -> None:
    engine = Engine()
    ear, pcm = Dozing(engine), place(10.0).round().astype(np.int16)
    for at in range(0, len(pcm), PIECE):
        ear.feed(pcm[at : at + PIECE])
    engine.words, engine.open = "next", ["next"]  # nothing that was heard since
    assert ear.dozes
    assert ear.hearing() == ""
    assert ear.finish() is None
    ear.forget()
    assert not ear.dozes
    assert engine.open == []
