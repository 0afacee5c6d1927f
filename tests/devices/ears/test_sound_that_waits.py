"""Sound on its way to the recognizer: nothing is lost unseen, and its time is that of capture."""

import numpy as np
import pytest

from fieldvoice.devices.ears import Block
from fieldvoice.devices.ears.block import CaptureClock
from fieldvoice.devices.ears.waiting_sound import WaitingSound


def block(value: int, at: float = 0.0) -> Block:
    return Block(np.full(1_600, value, dtype=np.int16), at)


def test_sound_waits_in_its_order() -> None:
    waiting = WaitingSound()
    waiting.put(block(1))
    waiting.put(block(2))
    assert [b.samples[0] for b in (waiting.get(0), waiting.get(0)) if b] == [1, 2]
    assert waiting.get(0) is None
    assert waiting.lost_s == 0


def test_what_is_too_much_is_counted_and_the_gap_is_marked() -> None:
    waiting = WaitingSound(most_s=0.35)
    for value in range(6):
        waiting.put(block(value))
    first, second = waiting.get(0), waiting.get(0)
    assert first is not None
    assert second is not None
    assert (first.samples[0], first.after_gap, second.after_gap) == (3, True, False)
    assert waiting.lost_s == pytest.approx(0.3)


def test_a_burst_of_late_blocks_keeps_the_times_of_capture() -> None:
    clock = CaptureClock()
    times = [clock.captured(1_600, arrival) for arrival in (0.1, 0.2, 0.3, 0.75, 0.75, 0.75, 0.75)]
    assert times == pytest.approx([0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6], abs=0.002)


def test_after_a_long_pause_time_has_passed() -> None:
    clock = CaptureClock()
    clock.captured(1_600, 0.1)
    assert clock.captured(1_600, 60.1) == pytest.approx(60.0)


def test_a_slow_sound_card_is_followed() -> None:
    clock = CaptureClock()
    late = [number * 0.1 * 1.0002 - clock.captured(1_600, (number + 1) * 0.1 * 1.0002)
            for number in range(36_000)]
    assert max(map(abs, late)) < 0.01
