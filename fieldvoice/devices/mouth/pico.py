"""The voice of Pico, through py-nanotts, in a process of its own: see pico_child.py for why."""

from __future__ import annotations

import atexit
import json
import os
import struct
import subprocess
import sys
import threading
from contextlib import suppress
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldvoice.devices.mouth.errors import VoiceError

RATE = 16_000
VOICE = "en-US"
LONGEST_S = 5.0
_CHILD = Path(__file__).with_name("pico_child.py")
# Large blocks fresh, and so empty, each time (glibc): the same text sounds the same.
_ENVIRONMENT = {"MALLOC_MMAP_THRESHOLD_": "131072"}
_USUAL_WORDS_A_MINUTE = 150.0  # at its own speed of 1, measured beside eSpeak at 150
_VOLUME = 0.5  # at its own 1 every peak is cut off
_MARKS = str.maketrans({"<": " ", ">": " ", "&": " and "})  # it reads SSML

_child: subprocess.Popen[bytes] | None = None


def synthesize(text: str, words_a_minute: int) -> tuple[NDArray[np.int16], int]:
    """Speech as mono samples and their rate in Hz. Raises VoiceError."""
    child = _running()
    wanted = {"text": text.translate(_MARKS), "voice": VOICE, "volume": _VOLUME,
              "speed": words_a_minute / _USUAL_WORDS_A_MINUTE}  # fmt: skip
    patience = threading.Timer(LONGEST_S, child.kill)
    patience.start()
    try:
        return np.frombuffer(_asked(child, wanted), dtype="<i2").astype(np.int16), RATE
    except (OSError, ValueError, struct.error) as error:
        stop()
        raise VoiceError(f"the voice pico does not work ({error}): "
                         "pip install py-nanotts") from None  # fmt: skip
    finally:
        patience.cancel()


def stop() -> None:
    """End the process; the next text starts another one."""
    global _child
    child, _child = _child, None
    if child is not None and child.stdin and child.stdout:
        child.kill()
        child.wait()
        child.stdout.close()
        with suppress(OSError):  # a text that it did not take goes with it
            child.stdin.close()


def _running() -> subprocess.Popen[bytes]:
    global _child
    if _child is None:
        try:
            _child = subprocess.Popen(
                [sys.executable, str(_CHILD)], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL, env={**os.environ, **_ENVIRONMENT},
            )  # fmt: skip
        except OSError as error:
            raise VoiceError(f"the voice pico does not start: {error}") from None
        atexit.register(stop)
    return _child


def _asked(child: subprocess.Popen[bytes], wanted: dict[str, object]) -> bytes:
    assert child.stdin
    assert child.stdout
    child.stdin.write(json.dumps(wanted).encode() + b"\n")
    child.stdin.flush()
    (length,) = struct.unpack("<I", child.stdout.read(4))
    said = child.stdout.read(length)
    if len(said) < length:
        raise OSError("it ended")
    return said
