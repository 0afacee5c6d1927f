"""How loud speech and background of a sound are, from its loudness in steps of 25 ms."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fieldvoice.devices.ears.block import RATE, Sound
from fieldvoice.devices.ears.level import clipped_share

STEP_S = 0.025
_STEP = int(RATE * STEP_S)

Levels = NDArray[np.float64]  # dBFS of each step
NO_LEVELS: Levels = np.zeros(0)


def levels(sound: Sound) -> Levels:
    """Loudness of each whole step."""
    whole = sound[: len(sound) // _STEP * _STEP].reshape(-1, _STEP).astype(np.float64)
    power = np.mean(np.square(whole / 32_768), axis=1) if len(whole) else np.zeros(0)
    return np.asarray(10 * np.log10(power + 1e-10))


def loud_and_quiet(spoken: Levels, floor: Levels) -> tuple[float, float]:
    """dBFS of the loud tenth of an utterance, and of the quiet tenth of sound of some time.

    Without a `floor` that of the utterance itself. ValueError of no sound at all.
    """
    if not len(spoken):
        raise ValueError("no sound has no loudness")
    quiet = float(np.percentile(floor if len(floor) else spoken, 10))
    return float(np.percentile(spoken, 90)), quiet


def above_noise(sound: Sound, floor: Levels = NO_LEVELS) -> tuple[float, float] | None:
    """How many dB speech stands above the noise, and which part of the sound was clipped.

    `floor`: as `loud_and_quiet` has it. None for a line that was cut off within one step.
    """
    spoken = levels(sound)
    if not len(spoken):
        return None
    loud, quiet = loud_and_quiet(spoken, floor)
    return loud - quiet, clipped_share(sound)
