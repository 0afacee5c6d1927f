"""Sound files of any rate and channels, as the 16 kHz mono samples that the recognizer hears."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import soxr
from numpy.typing import NDArray

from fieldvoice.errors import FieldvoiceError

RATE = 16_000
LONGEST_S = 3600.0


class SoundFileError(FieldvoiceError):
    """The file is not sound that can be heard; the message says what, where and what to do."""


def read_sound(path: Path) -> NDArray[np.int16]:
    """Samples of a WAV or FLAC file (also MP3, Ogg Vorbis): 16 kHz, mono, int16.

    Channels are averaged. Raises SoundFileError for a file that is missing, empty, not sound, or
    longer than an hour.
    """
    import miniaudio  # loading it takes longer than a command that needs no sound

    try:
        data = path.read_bytes()
    except OSError as error:
        raise SoundFileError(f"cannot read {path}: {error.strerror}; check the path") from None
    if not data:
        raise SoundFileError(f"{path} is empty (0 bytes); record it again")
    try:
        info = miniaudio.get_file_info(str(path))
        if info.duration > LONGEST_S:
            raise SoundFileError(f"{path} is longer than an hour; cut it into shorter files")
        found = miniaudio.decode(
            data, miniaudio.SampleFormat.FLOAT32, info.nchannels, info.sample_rate
        )
    except miniaudio.MiniaudioError:
        raise SoundFileError(
            f"{path} is not sound that can be read; give a WAV or FLAC file"
        ) from None
    samples = np.frombuffer(found.samples, dtype=np.float32).reshape(-1, info.nchannels)
    if not len(samples):
        raise SoundFileError(f"{path} holds no sound (0 samples); record it again")
    mono = resample(samples.mean(axis=1, dtype=np.float64), info.sample_rate, RATE)
    return to_int16(mono)


def to_int16(samples: NDArray[np.float64]) -> NDArray[np.int16]:
    """Samples in -1..1 as int16; louder ones are clipped, never wrapped round."""
    return np.clip(np.rint(samples * 32768.0), -32768, 32767).astype(np.int16)


def resample(samples: NDArray[np.float64], rate: int, to_rate: int) -> NDArray[np.float64]:
    """Change the sampling rate: phase and level stay, and what the new rate cannot carry goes.

    Raises ValueError for a rate that is not above 0.
    """
    return np.asarray(soxr.resample(samples, rate, to_rate), dtype=np.float64)
