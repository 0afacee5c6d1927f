"""Hearing that cannot keep up: what waits is bounded, and that sound is skipped is told once."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from itertools import pairwise

import numpy as np
import pytest

from fieldvoice.commands.wiring.hearing.behind import Behind
from fieldvoice.devices.ears import Block
from fieldvoice.devices.ears.waiting_sound import MOST_S, WaitingSound

BLOCK_S = 0.05
NOON = datetime(2026, 3, 2, 12, 0)


class Hearing:
    """A microphone, and a recognizer that takes some of its blocks; the clock is the sound's."""

    def __init__(self) -> None:
        self.sound, self.told, self.at = WaitingSound(), list[str](), 0.0
        self.most_waiting = 0
        self.behind = Behind(self.sound, self.told.append, lambda: self.at,
                             lambda: datetime.fromtimestamp(NOON.timestamp() + self.at))

    def minutes(self, minutes: float, heard: float) -> None:
        """So long, while so many blocks are heard for each that comes."""
        taken = 0.0
        for _ in range(round(minutes * 60 / BLOCK_S)):
            self.sound.put(Block(np.zeros(800, np.int16), self.at))
            self.at += BLOCK_S
            taken += heard
            while taken >= 1:
                taken -= 1
                self.sound.get(0)
            self.most_waiting = max(self.most_waiting, len(self.sound._blocks))
            self.behind.look()


def test_minutes_of_hearing_at_a_tenth_of_the_pace_are_told_once_and_when_they_are_over() -> None:
    hearing = Hearing()
    hearing.minutes(1, heard=1)
    assert hearing.told == []
    hearing.minutes(10, heard=0.1)
    assert hearing.told == [
        "I cannot keep up: this computer is too busy. From 12:01 PM on I miss part of what is "
        "said. Wait until I keep up again, or type."]
    hearing.minutes(1, heard=3)
    assert hearing.told[1:] == [
        "I keep up again. Between 12:01 PM and 12:10 PM I missed 520 seconds of sound."]
    hearing.minutes(5, heard=1)
    assert len(hearing.told) == 2
    assert hearing.most_waiting <= MOST_S / BLOCK_S


def test_a_computer_that_is_just_too_slow_is_no_reason_to_say_so_again_and_again() -> None:
    hearing = Hearing()
    hearing.minutes(60, heard=0.97)
    assert len(hearing.told) == 1


def test_being_too_slow_another_time_is_told_again() -> None:
    hearing = Hearing()
    for _ in range(2):
        hearing.minutes(1, heard=0.1)
        hearing.minutes(0.5, heard=3)
    assert [text.split(":")[0].split(".")[0] for text in hearing.told] == [
        "I cannot keep up", "I keep up again"] * 2


def test_no_sound_that_was_taken_is_lost_and_what_is_skipped_leaves_a_mark() -> None:
    sound = WaitingSound()
    heard = list[Block]()

    def some() -> Iterator[Block]:
        for number in range(2_000):
            sound.put(Block(np.full(800, number, np.int16), number * BLOCK_S))
            if number % 10 == 0 and (block := sound.get(0)) is not None:
                yield block
        while (rest := sound.get(0)) is not None:
            yield rest

    heard.extend(some())
    values = [int(block.samples[0]) for block in heard]
    assert values == sorted(set(values))
    marked = [block.after_gap for block in heard]
    follows = [False, *(after != before + 1 for before, after in pairwise(values))]
    assert marked == follows
    assert len(heard) * BLOCK_S + sound.lost_s == pytest.approx(100)
