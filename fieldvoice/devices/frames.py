"""A stream of sound cut into frames of one length, whatever the pieces that it comes in."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


class Frames:
    """Cuts; what makes no whole frame yet waits for the next piece."""

    def __init__(self, frame: int) -> None:
        """`frame`: its length in samples."""
        self._frame = frame
        self._rest = np.zeros(1, dtype=np.int16)  # the last sample, and what waits

    def with_next(self, piece: NDArray[np.int16]) -> NDArray[np.float64]:
        """The whole frames that are new, with the sample before them in front."""
        sound = np.concatenate([self._rest, piece])
        whole = (len(sound) - 1) // self._frame * self._frame
        self._rest = sound[whole:]
        return sound[: whole + 1].astype(np.float64)


def levels(sound: NDArray[np.float64], frame: int) -> list[float]:
    """Decibels of each frame of so many samples; `sound` holds whole ones."""
    frames = sound.reshape(-1, frame)
    power = np.einsum("ij,ij->i", frames, frames) / frame
    found: list[float] = (10 * np.log10(power + 1.0)).tolist()
    return found
