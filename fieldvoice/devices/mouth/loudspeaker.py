"""One playback stream for the whole session: what is handed over sounds, else there is silence."""

from __future__ import annotations

import threading
import time
from collections.abc import Generator
from typing import Any

import miniaudio
import numpy as np
from numpy.typing import NDArray

from fieldvoice.devices.mouth.errors import LoudspeakerError
from fieldvoice.devices.mouth.sounding import Sounding

RATE = 24_000  # of all that is handed over; the sound library brings it to the device's own
PERIOD_MS = 40
PERIODS = 3
DEVICE_S = PERIODS * PERIOD_MS / 1000  # what the device holds of what it has taken
TAIL_S = 0.15  # the room, the server and the microphone's own buffers go on for about this long
FADE = RATE // 200  # 5 ms: sound that is cut off must not click
LOST_AFTER_S = 1.5  # a device that has taken nothing for so long is gone
START_S = 3.0  # more for one that was just opened: a server wakes it up first
REST_AFTER_S = 4.0
_INSTEAD = "replies are on the screen only"

Sound = NDArray[np.int16]


class _Playback(miniaudio.PlaybackDevice):  # type: ignore[misc]  # miniaudio carries no types
    """A device that gives its connection back: pyminiaudio leaves it open (its issue 86)."""

    def close(self) -> None:
        """Stop, and free device and context, also of a device that could not be opened."""
        super().close()
        context, self._context = getattr(self, "_context", None), None
        if context is not None:
            miniaudio.lib.ma_context_uninit(context)


class Loudspeaker:
    """A playback stream of mono samples at RATE that can be lost and opened again."""

    def __init__(self) -> None:
        self.sounding = Sounding()
        self._lock = threading.Lock()
        self._parts: list[Sound] = []
        self._device: Any = None
        self._stream: Generator[bytes, int, None] | None = None
        self._times_taken = 0
        self._taken = 0.0  # steady time when the device last took something
        self._sounded = 0.0  # steady time when it last took something to hear

    def open(self, *, proved: bool = False) -> None:
        """Begin to play silence. Raises LoudspeakerError; where it is to be `proved`, also when
        the device is there and takes nothing.
        """
        self.close()
        if not has_loudspeaker():
            raise LoudspeakerError(f"no loudspeaker found; {_INSTEAD}")
        try:
            self._device = _Playback(
                nchannels=1, sample_rate=RATE, buffersize_msec=PERIOD_MS,
                callback_periods=PERIODS, app_name="fieldvoice",
            )  # fmt: skip
        except miniaudio.MiniaudioError as error:
            raise LoudspeakerError(f"the loudspeaker failed ({error}); {_INSTEAD}") from None
        self._stream = self._source()
        next(self._stream)
        self._times_taken = 0
        self.rouse()
        if proved and not self._goes_on():
            self.close()
            raise LoudspeakerError(f"the loudspeaker takes no sound; {_INSTEAD}")

    def _goes_on(self) -> bool:
        """Whether more is taken than fills the device's buffers."""
        until = time.monotonic() + START_S
        while self._times_taken <= 2 * PERIODS and time.monotonic() < until:
            time.sleep(PERIOD_MS / 1000)
        return self._times_taken > 2 * PERIODS

    def rouse(self) -> None:
        """Go on after a rest; the same device. Raises LoudspeakerError."""
        if self._device is None:
            raise LoudspeakerError(f"no loudspeaker is open; {_INSTEAD}")
        if self._device.running:
            return
        self._sounded = time.monotonic()
        self._taken = self._sounded + START_S
        try:
            self._device.start(self._stream)
        except miniaudio.MiniaudioError as error:
            self.close()
            raise LoudspeakerError(f"the loudspeaker failed ({error}); {_INSTEAD}") from None

    def rest(self) -> None:
        """Stop the device when it has long been silent: a stream of silence costs the processor
        0.8 % and keeps the loudspeaker's amplifier awake.
        """
        quiet_s = time.monotonic() - self._sounded
        if self._device is None or not self._device.running or quiet_s < REST_AFTER_S:
            return
        try:
            self._device.stop()
        except miniaudio.MiniaudioError:
            self.close()

    def close(self) -> None:
        """Give the device back; what has not sounded is dropped."""
        device, self._device = self._device, None
        with self._lock:
            self._parts = []
        if device is not None:
            device.close()

    @property
    def lost(self) -> bool:
        """Whether there is no device, or it takes nothing any more."""
        if self._device is None:
            return True
        return bool(self._device.running) and time.monotonic() - self._taken > LOST_AFTER_S

    def play(self, sound: Sound) -> None:
        """Let samples sound after what was handed over before; returns at once.

        Raises LoudspeakerError when the device does not go on after a rest.
        """
        self.rouse()
        with self._lock:
            self._parts.append(sound)

    def left_s(self) -> float:
        """Seconds of sound that the device has not taken yet."""
        with self._lock:
            return sum(map(len, self._parts)) / RATE

    def hush(self) -> None:
        """Drop what the device has not taken; what it holds sounds for DEVICE_S at most."""
        with self._lock:
            if self._parts:
                rest = self._parts[0][:FADE]
                self._parts = [np.rint(rest * np.linspace(1, 0, len(rest))).astype(np.int16)]

    def _source(self) -> Generator[bytes, int, None]:
        frames = yield b""
        while True:
            frames = yield self._next(frames)

    def _next(self, frames: int) -> bytes:
        """What the device plays next; called in its own thread."""
        now = time.monotonic()
        self._times_taken += 1
        self._taken = now if self._times_taken > PERIODS else max(now, self._taken)
        with self._lock:
            sound = self._take(frames)
        if sound.any():
            self._sounded = now
            # all of it has sounded when the device has played what it now holds
            self.sounding.note(now, now + DEVICE_S + TAIL_S)
        return sound.tobytes().ljust(2 * frames, b"\0")

    def _take(self, frames: int) -> Sound:
        taken: list[Sound] = []
        while frames and self._parts:
            part, rest = self._parts[0][:frames], self._parts[0][frames:]
            taken.append(part)
            frames -= len(part)
            self._parts[:1] = [rest] if len(rest) else []
        return np.concatenate(taken) if taken else np.zeros(0, np.int16)


def has_loudspeaker() -> bool:
    """Whether the system has any device that sounds."""
    return bool(loudspeakers())


def loudspeakers() -> list[str]:
    """Names of the devices that sound, the system's usual one first.

    ALSA's 'null', which swallows all, is none, and so are its plug-ins with nothing behind them.
    """
    ffi, lib = miniaudio.ffi, miniaudio.lib
    try:
        listing = miniaudio.Devices([b for b in miniaudio.Backend if b.name != "NULL"])
    except miniaudio.MiniaudioError:
        return []
    infos, count = ffi.new("ma_device_info **"), ffi.new("ma_uint32 *")
    result = lib.ma_context_get_devices(listing._context, infos, count, ffi.NULL, ffi.NULL)
    if result != lib.MA_SUCCESS:
        return []
    found = [info for info in infos[0][0 : count[0]] if _sounds(listing, info)]
    found.sort(key=lambda info: not info.isDefault)
    return [ffi.string(info.name).decode("utf-8", "replace") for info in found]


def _sounds(listing: Any, info: Any) -> bool:
    ffi, identity = miniaudio.ffi, miniaudio.ffi.addressof(info.id)
    known = miniaudio.lib.ma_context_get_device_info(
        listing._context, miniaudio.DeviceType.PLAYBACK.value, identity, ffi.addressof(info))
    return known == miniaudio.lib.MA_SUCCESS and bytes(ffi.buffer(identity))[:5] != b"null\0"
