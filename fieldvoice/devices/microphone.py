"""Sound from the microphone, 16 kHz mono; a lost one is reported and tried again."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable, Generator, Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fieldvoice.errors import FieldvoiceError

RATE = 16_000
BEAT_S = 0.1  # chunks() yields at least this often, with nothing when there is nothing
LOST_AFTER_S = 2.0  # no sound at all for so long: the device is gone
RETRY_S = 2.0

NOTHING = np.zeros(0, dtype=np.int16)


class MicrophoneError(FieldvoiceError):
    """There is no microphone; the message says what to do instead."""


class Microphone:
    """An open microphone. Raises MicrophoneError when there is none to begin with.

    `deaf` says whether sound is to be dropped now (while Fieldvoice speaks); `trouble` is told when
    the microphone is lost and when it is back.
    """

    def __init__(
        self, trouble: Callable[[str], None], deaf: Callable[[], bool] = lambda: False
    ) -> None:
        self._trouble = trouble
        self._deaf = deaf
        self._sound: queue.Queue[bytes] = queue.Queue()
        self._closed = threading.Event()
        self._device: Any = None
        self._open()

    def chunks(self) -> Iterator[NDArray[np.int16]]:
        """Sound as it comes, until close(); an empty chunk each beat in which none came."""
        silent_s = 0.0
        while not self._closed.is_set():
            try:
                data = self._sound.get(timeout=BEAT_S)
                silent_s = 0.0
                yield NOTHING if self._deaf() else np.frombuffer(data, dtype=np.int16)
            except queue.Empty:
                silent_s += BEAT_S
                yield NOTHING
            if silent_s >= LOST_AFTER_S:
                yield from self._reopened()
                silent_s = 0.0

    def close(self) -> None:
        """Stop listening."""
        self._closed.set()
        if self._device is not None:
            self._device.close()
            self._device = None

    def _reopened(self) -> Iterator[NDArray[np.int16]]:
        """Beats until the microphone is back."""
        self._trouble("The microphone is lost. Plug it in again, or type.")
        self._device.close()
        waited_s = 0.0
        while not self._closed.is_set():
            self._closed.wait(BEAT_S)
            waited_s += BEAT_S
            yield NOTHING
            if waited_s >= RETRY_S:
                waited_s = 0.0
                try:
                    self._open()
                except MicrophoneError:
                    continue
                self._trouble("The microphone is back.")
                return

    def _open(self) -> None:
        import miniaudio

        if not has_microphone():
            raise MicrophoneError("no microphone found; go on by typing")
        sink = self._sink()
        next(sink)
        try:
            device = miniaudio.CaptureDevice(
                nchannels=1, sample_rate=RATE, buffersize_msec=50, app_name="fieldvoice"
            )
            device.start(sink)
        except miniaudio.MiniaudioError as error:
            raise MicrophoneError(
                f"the microphone cannot be used ({error}); go on by typing"
            ) from None
        self._device = device

    def _sink(self) -> Generator[None, bytes, None]:
        while True:
            data = yield
            self._sound.put(bytes(data))


def has_microphone() -> bool:
    """Whether the system has any device that hears; ALSA's 'null', which is silent, is none."""
    import miniaudio

    try:
        found = miniaudio.Devices([b for b in miniaudio.Backend if b.name != "NULL"]).get_captures()
    except miniaudio.MiniaudioError:
        return False
    return any(bytes(miniaudio.ffi.buffer(d["id"]))[:5] != b"null\0" for d in found)
