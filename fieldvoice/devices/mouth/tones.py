"""Short tones that say what became of a line where no words do; told apart by pitch and shape."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from fieldvoice.devices.mouth.loudspeaker import RATE

_LEVEL = 0.25  # of full scale
_EDGE_S = 0.008  # a tone that starts at once clicks
_BEATS: Mapping[str, tuple[tuple[float, float, int], ...]] = {  # Hz, seconds, partials
    "heard": ((1320.0, 0.07, 1),),  # one short high one
    "asked-back": ((660.0, 0.07, 1), (0.0, 0.03, 1), (990.0, 0.10, 1)),  # two that rise, clear
    "not-taken": ((392.0, 0.09, 5), (262.0, 0.14, 5)),  # one that falls, low and rough
}
KINDS = tuple(_BEATS)


def tone(kind: str) -> NDArray[np.int16]:
    """Samples at RATE of "heard", "asked-back" or "not-taken". Raises KeyError for another."""
    return np.concatenate([_beat(*beat) for beat in _BEATS[kind]])


def _beat(pitch: float, seconds: float, partials: int) -> NDArray[np.int16]:
    at = np.arange(int(seconds * RATE)) / RATE
    wave = sum(np.sin(2 * np.pi * pitch * n * at) / n for n in range(1, partials + 1, 2))
    edge = np.clip(np.minimum(at, seconds - at) / _EDGE_S, 0, 1)
    return np.asarray(np.rint(wave * edge * _LEVEL * 32767), dtype=np.int16)
