"""A file or a pipe as the microphone: played at the pace of real time."""

from __future__ import annotations

import os
import select
import stat
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np

from fieldvoice.devices.ears.block import RATE, Block, Sound

STDIN = "-"
SUFFIXES = {".wav", ".flac", ".mp3", ".ogg"}
_PIECE_S = 0.05
_PATIENCE_S = 0.5  # between beats while a pipe gives nothing

Beat = Callable[[], bool]  # tells that all is well; whether to go on
ReadFile = Callable[[Path], Sound]
Heard = Callable[[Block], None]


def is_played(wanted: str) -> bool:
    """Whether a microphone's name is that of a file, a pipe, or "-" for standard input."""
    path = Path(wanted)
    return wanted == STDIN or os.sep in wanted or path.suffix.lower() in SUFFIXES or path.exists()


def is_pipe(wanted: str) -> bool:
    """Whether what is played is a pipe of raw sound: 16 kHz mono, 16 bits, little endian."""
    return wanted == STDIN or (
        Path(wanted).exists() and stat.S_ISFIFO(Path(wanted).stat().st_mode))


def play_sound(sound: Sound, heard: Heard, beat: Beat) -> None:
    """Pass on a whole sound at its own pace; returns at its end."""
    piece = int(RATE * _PIECE_S)
    began = time.monotonic()
    for at in range(0, len(sound), piece):
        if not beat():
            return
        part = sound[at : at + piece]
        _wait_until(began + (at + len(part)) / RATE)
        heard(Block(part, began + at / RATE))


def play_pipe(wanted: str, heard: Heard, beat: Beat) -> None:
    """Pass on what a pipe gives, no faster than it could be spoken; returns when it is closed."""
    due = time.monotonic()
    with _opened(wanted) as pipe:
        for data in _pieces(pipe, beat):
            samples = np.frombuffer(data, dtype="<i2").astype(np.int16)
            due = max(due, time.monotonic() - len(samples) / RATE)
            _wait_until(due + len(samples) / RATE)
            heard(Block(samples, due))
            due += len(samples) / RATE


@contextmanager
def _opened(wanted: str) -> Iterator[int]:
    if wanted == STDIN:
        yield sys.stdin.fileno()
        return
    pipe = os.open(wanted, os.O_RDONLY | os.O_NONBLOCK)
    try:
        yield pipe
    finally:
        os.close(pipe)


def _pieces(pipe: int, beat: Beat) -> Iterator[bytes]:
    """Whole samples as they come, until the other end is closed."""
    waiting = select.poll()
    waiting.register(pipe, select.POLLIN)
    rest = b""
    while beat():
        events = waiting.poll(_PATIENCE_S * 1000)
        if not events:
            continue
        data = rest + os.read(pipe, int(RATE * _PIECE_S) * 2) if events[0][
            1] & select.POLLIN else b""
        if len(data) <= len(rest):
            return
        whole = len(data) // 2 * 2
        rest = data[whole:]
        if whole:
            yield data[:whole]


def _wait_until(moment: float) -> None:
    time.sleep(max(0.0, moment - time.monotonic()))
