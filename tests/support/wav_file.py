"""Sound files for tests."""

import wave
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldvoice.devices.soundfile import RATE


def write_wav(path: Path, pcm: NDArray[np.int16]) -> None:
    """16 kHz mono int16 samples as a WAV file."""
    with wave.open(str(path), "wb") as out:
        out.setparams((1, 2, RATE, 0, "NONE", ""))
        out.writeframes(pcm.astype("<i2").tobytes())
