"""Sound as figures: levels, clipping, how much of what was said came back. Pure."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

FULL = 32_768.0
SILENCE_DB = -120.0  # what no sound at all is said to have
_NEAR_FULL = 32_500  # samples from here on are taken for cut off
_BLOCK = 1_600  # a tenth of a second at 16 kHz
_PIECE = 6_400  # 0.4 s

Sound = NDArray[np.int16]


def level_db(sound: Sound) -> float:
    """Mean level below full scale, dBFS; SILENCE_DB for none."""
    if not len(sound):
        return SILENCE_DB
    mean = float(np.sqrt(np.mean((sound - sound.mean(dtype=np.float64)) ** 2)))
    return max(20.0 * float(np.log10(max(mean, 1e-9) / FULL)), SILENCE_DB)


def loudest_db(sound: Sound) -> float:
    """The level of the loudest tenths of a second, dBFS: of the speech in it."""
    blocks = [sound[at : at + _BLOCK] for at in range(0, max(len(sound) - _BLOCK, 1), _BLOCK)]
    levels = sorted((level_db(block) for block in blocks), reverse=True)
    return float(np.mean(levels[: max(len(levels) // 5, 1)]))


def clipped_part(sound: Sound) -> float:
    """The part of the samples that lies at full scale, 0..1."""
    return float(np.mean(np.abs(sound.astype(np.int32)) >= _NEAR_FULL)) if len(sound) else 0.0


def is_flat(sound: Sound) -> bool:
    """Whether nothing moves at all: a microphone that is muted or unplugged, not a quiet room."""
    return not len(sound) or int(sound.max()) - int(sound.min()) <= 2


def came_back_db(said: Sound, heard: Sound) -> tuple[float, float]:
    """How much of what was said is in what was heard: its level to what was said, in dB; and how
    clearly it is there, as the highest correlation over the usual one.

    The level is found piece by piece: a busy computer lets a moment of sound drop out, and what
    comes later is then shifted against what came before.
    """
    if not len(said) or len(heard) < len(said):
        return SILENCE_DB, 0.0
    size = 1 << int(np.ceil(np.log2(len(heard) + len(said))))
    spectrum = np.fft.rfft(heard / FULL, size)

    def alike(part: Sound) -> NDArray[np.float64]:
        """The correlation, by how many samples later it is heard."""
        found = np.fft.irfft(spectrum * np.conj(np.fft.rfft(part / FULL, size)), size)
        return np.asarray(np.abs(found[: len(heard)]), np.float64)

    whole = alike(said)
    best, usual = float(whole.max()), float(np.median(whole))
    energy = float(np.sum((said / FULL) ** 2))
    if not energy or not best:
        return SILENCE_DB, 0.0
    pieces = (said[at : at + _PIECE] for at in range(0, len(said), _PIECE))
    back = sum(float(alike(piece).max()) for piece in pieces)  # no less than of the whole
    return 20.0 * float(np.log10(back / energy)), best / max(usual, 1e-12)
