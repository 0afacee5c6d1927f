"""Capturing through miniaudio: the devices there are, and one of them opened.

The library never frees the context of a device (pyminiaudio issue 86), so that is done here: each
context is a connection to the sound server and five descriptors.
"""

from __future__ import annotations

import contextlib
import ctypes
import functools
import time
from collections.abc import Callable, Generator
from typing import Any

import miniaudio
import numpy as np
from miniaudio import ffi, lib

from fieldvoice.devices.ears.block import RATE, Block, CaptureClock
from fieldvoice.devices.ears.found import Found, is_alsa_hardware
from fieldvoice.errors import FieldvoiceError

BLOCK_MS = 50
_BACKENDS = [backend for backend in miniaudio.Backend if backend.name != "NULL"]


_ALSA_TELLS = ctypes.CFUNCTYPE(  # file, line, function, error, what
    None, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p)


class MicrophoneError(FieldvoiceError):
    """There is no microphone that can be used; the message says what to do instead."""


def microphones() -> list[Found]:
    """All devices that sound can be captured from, monitors of loudspeakers among them."""
    _quiet_alsa()
    try:
        listing = miniaudio.Devices(_BACKENDS)  # frees its context itself
    except miniaudio.MiniaudioError:
        return []
    infos, count = ffi.new("ma_device_info **"), ffi.new("ma_uint32 *")
    result = lib.ma_context_get_devices(listing._context, ffi.NULL, ffi.NULL, infos, count)
    if result != lib.MA_SUCCESS:
        return []
    found = [_found(infos[0][number]) for number in range(count[0])]
    return [device for device in found if listing.backend != "ALSA" or is_alsa_hardware(device.id)]


@functools.cache
def _quiet_alsa() -> object:
    """Keep ALSA from writing onto the screen, at every look for devices, that there are none."""
    try:
        alsa = ctypes.CDLL("libasound.so.2")
        silent = _ALSA_TELLS(lambda *told: None)
        alsa.snd_lib_error_set_handler(silent)
    except (OSError, AttributeError):
        return None
    return silent  # kept, as the library goes on calling it


def _found(info: Any) -> Found:
    handle = bytes(ffi.buffer(ffi.addressof(info.id)))
    name = ffi.string(info.name).decode("utf-8", "replace")
    known = handle.split(b"\0")[0].decode("utf-8", "replace")
    return Found(name, known if known.isprintable() else "", handle, bool(info.isDefault))


class Capture:
    """A device that captures, 16 kHz mono whatever its own rate and channels are.

    Raises MicrophoneError.
    """

    def __init__(self, device: Found, heard: Callable[[Block], None]) -> None:
        """`heard` is given each block by a thread of the sound library's."""
        self._clock = CaptureClock()
        self._heard = heard
        self._device = miniaudio.CaptureDevice.__new__(miniaudio.CaptureDevice)
        id_kept = ffi.new("ma_device_id *")
        ffi.memmove(id_kept, device.handle, len(device.handle))
        try:
            # A device that is named is never exchanged for another one behind our back.
            self._device.__init__(
                nchannels=1, sample_rate=RATE, buffersize_msec=BLOCK_MS, device_id=id_kept,
                backends=_BACKENDS, app_name="fieldvoice",
            )  # fmt: skip
            sink = self._sink()
            next(sink)
            self._device.start(sink)
        except miniaudio.MiniaudioError as error:
            self.close()
            raise MicrophoneError(
                f"the microphone {device.name} cannot be used ({error})") from None

    def close(self) -> None:
        """Stop capturing and free everything."""
        context = getattr(self._device, "_context", None)
        with contextlib.suppress(AttributeError):  # it failed before there was anything to close
            self._device.close()
        if context is not None:
            self._device._context = None
            lib.ma_context_uninit(context)

    def _sink(self) -> Generator[None, bytes, None]:
        while True:
            samples = np.frombuffer(bytes((yield)), dtype=np.int16)
            at = self._clock.captured(len(samples), time.monotonic())
            self._heard(Block(samples, at))
