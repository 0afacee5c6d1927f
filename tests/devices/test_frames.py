"""Frames of a stream are the same, however it comes in pieces."""

import numpy as np
import pytest

from fieldvoice.devices.frames import Frames, levels

FRAME = 160
SOUND = np.random.default_rng(4).integers(-3000, 3000, 10 * FRAME + 77).astype(np.int16)


@pytest.mark.parametrize("piece", [1, 7, FRAME - 1, FRAME, FRAME + 1, 5 * FRAME + 3])
def test_no_sample_is_lost_or_heard_twice(piece: int) -> None:
    frames, whole, changes = Frames(FRAME), [], []
    for at in range(0, len(SOUND), piece):
        heard = frames.with_next(SOUND[at : at + piece])
        whole.append(heard[1:])
        changes.append(np.diff(heard))
    expected = SOUND[: 10 * FRAME].astype(np.float64)
    assert np.array_equal(np.concatenate(whole), expected)
    assert np.array_equal(np.concatenate(changes), np.diff(expected, prepend=0.0))


def test_a_level_is_the_power_of_its_frame() -> None:
    loud = np.concatenate([np.full(FRAME, 100.0), np.full(FRAME, -1000.0)])
    assert levels(loud, FRAME) == pytest.approx([40.0, 60.0], abs=0.001)
