"""Sound files of any rate and channels, as the 16 kHz mono samples that the recognizer hears.

What is read is limited: at most MOST_BYTES of a file or pipe, of at most LONGEST_S, so that an
endless source, or a header that lies, costs neither memory nor time without end.
"""

from __future__ import annotations

import io
import os
import select
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import soxr
from numpy.typing import NDArray

from fieldvoice.errors import FieldvoiceError

RATE = 16_000
LONGEST_S = 3600.0
MOST_BYTES = 700_000_000  # an hour of 48 kHz, two channels of 16 bits
MOST_CHANNELS = 32
RATES = (4_000, 384_000)  # Hz; below the lowest there is no speech
QUIET_S = 10.0  # a pipe that gives nothing for so long has no more

_PIECE = 1 << 20  # bytes, and samples, that are dealt with at once
_WHENCE = {"START": os.SEEK_SET, "CURRENT": os.SEEK_CUR, "END": os.SEEK_END}
_HEADER = 12  # bytes that tell what it is
_UNSAID = (0, 0x7FFFFFFF, 0xFFFFFFFF)  # sizes that a recorder writes which does not know them yet


class SoundFileError(FieldvoiceError):
    """The file is not sound that can be heard; the message says what, where and what to do."""


def read_sound(path: Path) -> NDArray[np.int16]:
    """Samples of a WAV or FLAC file (also MP3, Ogg Vorbis): 16 kHz, mono, int16.

    Channels are averaged. Raises SoundFileError for a file that is missing, empty, not sound, cut
    short, or beyond the limits named above.
    """
    data = _with_its_length(_read_bytes(path))
    info = _info(path, data)
    pieces = list(_resampled(_mono_pieces(path, data, info), info.sample_rate))
    if not pieces:
        raise SoundFileError(f"{path} holds no sound (0 samples); record it again")
    return np.concatenate(pieces)


def _read_bytes(path: Path) -> bytearray:
    """All bytes of a file or pipe; no more than the limit is ever read."""
    data = bytearray()
    try:
        for piece in _bytes_of(path):
            data += piece
            if len(data) >= _HEADER and _kind(data) is None:
                raise _no_sound(path)
            if len(data) > MOST_BYTES:
                raise SoundFileError(f"{path} goes on beyond {MOST_BYTES / 1e6:.0f} MB, which is "
                                     "the limit; cut it into shorter files")
    except OSError as error:
        raise SoundFileError(f"cannot read {path}: {error.strerror}; check the path") from None
    if not data:
        raise SoundFileError(f"{path} is empty (0 bytes); record it again")
    return data


def _bytes_of(path: Path) -> Iterator[bytes]:
    """Pieces as they come; a pipe is not waited for without end. Raises OSError."""
    fd = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    try:
        waits = not stat.S_ISREG(os.fstat(fd).st_mode)
        while piece := _next_piece(fd, path, waits):
            yield piece
    finally:
        os.close(fd)


def _next_piece(fd: int, path: Path, waits: bool) -> bytes:
    if waits and not select.select([fd], [], [], QUIET_S)[0]:
        raise SoundFileError(f"{path} gave no sound for {QUIET_S:.0f} s; is anything sending?")
    try:
        return os.read(fd, _PIECE)
    except BlockingIOError:  # another reader was quicker
        return _next_piece(fd, path, waits)


def _kind(data: bytes | bytearray) -> str | None:
    """What the first bytes say that it is."""
    if data[:4] in (b"RIFF", b"RF64") and data[8:12] == b"WAVE":
        return "wav"
    if data[:4] in (b"fLaC", b"OggS"):
        return "flac" if data[:4] == b"fLaC" else "vorbis"
    mp3 = data[:3] == b"ID3" or (len(data) > 1 and data[0] == 0xFF and data[1] & 0xE0 == 0xE0
                                 and data[1] & 0x06 != 0)
    return "mp3" if mp3 else None


def _no_sound(path: Path) -> SoundFileError:
    return SoundFileError(f"{path} is not sound that can be read; give a WAV or FLAC file")


def _info(path: Path, data: bytes) -> Any:
    """Rate, channels and how much is promised. Raises SoundFileError beyond the limits."""
    import miniaudio  # loading it takes longer than a command that needs no sound

    kind = _kind(data)
    if kind is None:
        raise _no_sound(path)
    try:
        info = getattr(miniaudio, f"{kind}_get_info")(data)
    except (miniaudio.MiniaudioError, ZeroDivisionError):  # a rate of 0 has no duration
        raise _no_sound(path) from None
    if not RATES[0] <= info.sample_rate <= RATES[1]:
        raise SoundFileError(f"{path} has {info.sample_rate:,} samples a second; from {RATES[0]:,} "
                             f"to {RATES[1]:,} can be heard")
    if not 1 <= info.nchannels <= MOST_CHANNELS:
        raise SoundFileError(f"{path} has {info.nchannels} channels; at most {MOST_CHANNELS} can "
                             "be heard")
    if info.duration > LONGEST_S:
        raise _too_long(path)
    return info


def _too_long(path: Path) -> SoundFileError:
    return SoundFileError(f"{path} is longer than an hour; cut it into shorter files")


def _mono_pieces(path: Path, data: bytes, info: Any) -> Iterator[NDArray[np.float64]]:
    """The channels' mean, in -1..1, piece by piece. Raises SoundFileError where it is cut short."""
    import miniaudio

    frames, source = 0, _source(data)  # the decoder itself does not keep the source alive
    try:
        stream = miniaudio.stream_any(
            source, output_format=miniaudio.SampleFormat.FLOAT32, nchannels=info.nchannels,
            sample_rate=info.sample_rate, frames_to_read=_PIECE // info.nchannels,
        )  # fmt: skip
        for piece in stream:
            samples = np.frombuffer(piece, dtype=np.float32).reshape(-1, info.nchannels)
            frames += len(samples)
            if frames > LONGEST_S * info.sample_rate:
                raise _too_long(path)
            yield samples.mean(axis=1, dtype=np.float64)
    except miniaudio.MiniaudioError:
        raise _no_sound(path) from None
    _refuse_part(path, data, frames, info)


def _refuse_part(path: Path, data: bytes, frames: int, info: Any) -> None:
    """Raise SoundFileError where the header of a WAV or FLAC file promises more than there is."""
    held, promised = frames, int(info.num_frames) if _kind(data) == "flac" else 0
    if _kind(data) == "wav":
        held, promised = _wav_bytes(data)
    if held < promised:
        raise SoundFileError(f"{path} is cut short: it holds {held / promised:.0%} of the sound "
                             "that it promises; copy or record it again")


def _with_its_length(data: bytearray) -> bytes:
    """A WAV file whose header leaves its length open gets the length that it has."""
    at = _wav_data(data)
    if _kind(data) == "wav" and data[:4] != b"RF64" and at + 8 <= len(data):
        said = data[at + 4 : at + 8]
        if int.from_bytes(said, "little") in _UNSAID:
            data[at + 4 : at + 8] = (len(data) - at - 8).to_bytes(4, "little")
    return bytes(data)


def _wav_bytes(data: bytes) -> tuple[int, int]:
    """How many bytes of sound there are, and how many are promised."""
    at = _wav_data(data)
    said = int.from_bytes(data[at + 4 : at + 8], "little")
    return (0, 0) if data[:4] == b"RF64" else (len(data) - at - 8, said)


def _wav_data(data: bytes | bytearray) -> int:
    """Where the chunk with the sound begins; beyond the end where there is none."""
    at = _HEADER
    while at + 8 <= len(data) and data[at : at + 4] != b"data":
        size = int.from_bytes(data[at + 4 : at + 8], "little")
        at += 8 + size + size % 2  # chunks begin at even places
    return at


def _source(data: bytes) -> Any:
    """What miniaudio reads from: the bytes, in which it may move about."""
    import miniaudio

    class Source(miniaudio.StreamableSource):  # type: ignore[misc]
        def __init__(self) -> None:
            self._file = io.BytesIO(data)

        def read(self, num_bytes: int) -> bytes:
            return self._file.read(num_bytes)

        def seek(self, offset: int, origin: Any) -> bool:
            self._file.seek(offset, _WHENCE[origin.name])
            return True

    return Source()


def _resampled(pieces: Iterator[NDArray[np.float64]], rate: int) -> Iterator[NDArray[np.int16]]:
    """At the recognizer's rate, piece by piece."""
    if rate == RATE:
        yield from map(to_int16, pieces)
        return
    stream = soxr.ResampleStream(rate, RATE, 1, dtype="float64")
    for piece in pieces:
        yield to_int16(stream.resample_chunk(piece))
    yield to_int16(stream.resample_chunk(np.zeros(0), last=True))


def to_int16(samples: NDArray[np.float64]) -> NDArray[np.int16]:
    """Samples in -1..1 as int16; louder ones are clipped, never wrapped round."""
    return np.clip(np.rint(samples * 32768.0), -32768, 32767).astype(np.int16)


def resample(samples: NDArray[np.float64], rate: int, to_rate: int) -> NDArray[np.float64]:
    """Change the sampling rate: phase and level stay, and what the new rate cannot carry goes.

    Raises ValueError for a rate that is not above 0.
    """
    return np.asarray(soxr.resample(samples, rate, to_rate), dtype=np.float64)
