"""Ears of a job at work: each line arrives once, spoken ones with their sound."""

import queue
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from fieldvoice.commands.wiring.listening import Arrivals, Ended, Line, spoken_lines, type_into
from support.fake_recognizer import FakeRecognizer

Chunk = NDArray[np.int16]
NOTHING = np.zeros(0, dtype=np.int16)


def chunk(value: int, samples: int = 1_600) -> Chunk:
    return np.full(samples, value, dtype=np.int16)


def lines_of(chunks: list[Chunk]) -> list[Line]:
    return list(spoken_lines(iter(chunks), FakeRecognizer()))


def test_each_utterance_arrives_with_its_own_sound() -> None:
    found = lines_of([chunk(0), chunk(1), chunk(2), chunk(0), NOTHING, chunk(3), chunk(0)])
    assert [line.words for line in found] == ["1 2", "3"]
    assert [line.source for line in found] == ["voice", "voice"]
    sounds = [line.sound for line in found if line.sound is not None]
    assert [sound[::1_600].tolist() for sound in sounds] == [[0, 1, 2, 0], [3, 0]]


def test_long_silence_before_a_line_is_not_kept() -> None:
    (line,) = lines_of([*[chunk(0)] * 600, chunk(7), chunk(0)])
    assert line.sound is not None
    assert 0.5 < len(line.sound) / 16_000 < 4.0
    assert 7 in line.sound


def test_a_long_line_is_kept_whole() -> None:
    (line,) = lines_of([*[chunk(5)] * 600, chunk(0)])
    assert line.sound is not None
    assert len(line.sound) == 601 * 1_600


def test_typed_lines_arrive_without_blank_ones_and_then_end() -> None:
    arrivals: Arrivals = queue.Queue()

    def lines() -> Iterator[str]:
        yield from ("next\n", "\n", "  412 microns \n")

    type_into(arrivals, lines())
    assert [arrivals.get(timeout=5) for _ in range(3)] == [
        Line("next", "typed"), Line("412 microns", "typed"), Ended("typed"),
    ]  # fmt: skip
