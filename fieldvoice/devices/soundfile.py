"""Sound files of any rate and channels, as the 16 kHz mono samples that the recognizer hears."""

from __future__ import annotations

import math
import wave
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldvoice.errors import FieldvoiceError

RATE = 16_000
_ZERO_CROSSINGS = 64  # half the filter's length, in samples of the slower rate
_STOPBAND_DB = 80.0
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


def write_wav(path: Path, pcm: NDArray[np.int16]) -> None:
    """Write 16 kHz mono int16 samples as a WAV file."""
    with path.open("wb") as file, wave.open(file, "wb") as out:
        out.setparams((1, 2, RATE, 0, "NONE", ""))
        out.writeframes(pcm.astype("<i2").tobytes())


def to_int16(samples: NDArray[np.float64]) -> NDArray[np.int16]:
    """Samples in -1..1 as int16; louder ones are clipped, never wrapped round."""
    return np.clip(np.rint(samples * 32768.0), -32768, 32767).astype(np.int16)


def resample(samples: NDArray[np.float64], rate: int, to_rate: int) -> NDArray[np.float64]:
    """Change the sampling rate by the exact fraction, with a windowed-sinc low-pass (80 dB).

    Polyphase: output n needs input around n * rate / to_rate, and only `up` different fractional
    positions occur, each with its own filter. Source: Oppenheim and Schafer, Discrete-Time Signal
    Processing, changing the sampling rate by a non-integer factor.
    """
    if rate <= 0 or to_rate <= 0:
        raise ValueError(f"sampling rates must be above 0, not {rate} and {to_rate}")
    if rate == to_rate:
        return samples
    up, down = to_rate // math.gcd(rate, to_rate), rate // math.gcd(rate, to_rate)
    half = math.ceil(_ZERO_CROSSINGS * max(1.0, down / up))
    count = -(-len(samples) * up // down)
    padded = np.pad(samples, (half, half + down + 1))
    windows = np.lib.stride_tricks.sliding_window_view(padded, 2 * half + 1)
    out = np.empty(count)
    for first in range(min(up, count)):
        whole, part = divmod(first * down, up)
        rows = len(range(first, count, up))
        taps = _filter(half, part / up, min(1.0, up / down))
        out[first::up] = windows[whole::down][:rows] @ taps
    return out


def _filter(half: int, shift: float, ratio: float) -> NDArray[np.float64]:
    """Kaiser-windowed sinc around `shift`; its stop band begins at the slower rate's half."""
    attenuation = _STOPBAND_DB
    beta = 0.1102 * (attenuation - 8.7)  # Kaiser's formulas for the window and the transition band
    transition = (attenuation - 8.0) / (2.285 * 2.0 * _ZERO_CROSSINGS) / math.pi
    cutoff = ratio * (1.0 - transition / 2.0)
    at = np.arange(-half, half + 1) - shift
    edge = np.clip(1.0 - (at / (half + 1.0)) ** 2, 0.0, None)
    window = np.i0(beta * np.sqrt(edge)) / np.i0(beta)
    taps = cutoff * np.sinc(cutoff * at) * window
    return np.asarray(taps / taps.sum(), dtype=np.float64)
