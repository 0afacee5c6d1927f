"""Lines of the recorded demo, for tests that say them in another order or place."""

from functools import cache

import numpy as np
from numpy.typing import NDArray

from fieldvoice.commands.wiring.recorded_jobs import read_job, shipped_jobs
from fieldvoice.devices.soundfile import read_sound


@cache
def spoken(text: str) -> NDArray[np.int16]:
    """A recorded line of the demo with no machine beside it, without the quiet at its ends."""
    found = next(
        line.sound
        for job in shipped_jobs()
        for line in read_job(job).lines
        if line.text == text and line.sound and "," not in line.about
    )
    sound = read_sound(found)
    loud = np.flatnonzero(np.abs(sound.astype(int)) > 0.02 * np.abs(sound.astype(int)).max())
    return sound[loud[0] : loud[-1]]
