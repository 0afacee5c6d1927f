"""The sound devices that there are: their names, which one is the usual one, which is no real one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

_MONITOR = ".monitor"  # how a sound server names what it plays, offered as something to hear


@dataclass(frozen=True)
class SoundDevice:
    """A microphone or a loudspeaker."""

    name: str  # as the system tells it to people
    usual: bool  # the one that the system gives to a program that asks for none
    monitor: bool = False  # no microphone: what a loudspeaker plays


def microphones() -> list[SoundDevice]:
    """All that can be heard from, monitors too."""
    return _devices(capture=True)


def loudspeakers() -> list[SoundDevice]:
    """All that can be spoken through."""
    return _devices(capture=False)


def _devices(*, capture: bool) -> list[SoundDevice]:
    import miniaudio

    try:
        context = miniaudio.Devices([b for b in miniaudio.Backend if b.name != "NULL"])
    except miniaudio.MiniaudioError:
        return []
    ffi, lib = miniaudio.ffi, miniaudio.lib
    found, count = ffi.new("ma_device_info**"), ffi.new("ma_uint32*")
    none = (ffi.NULL, ffi.NULL)
    asked = (*none, found, count) if capture else (found, count, *none)
    if lib.ma_context_get_devices(context._context, *asked) != lib.MA_SUCCESS:
        return []
    kind = miniaudio.DeviceType.CAPTURE if capture else miniaudio.DeviceType.PLAYBACK
    devices = [(_called(found[0][n].id, ffi), found[0][n]) for n in range(count[0])]
    return [SoundDevice(ffi.string(device.name).decode("utf-8", "replace"), bool(device.isDefault),
                        called.endswith(_MONITOR))
            for called, device in devices
            if called != "null"  # ALSA's, which is silent; its plug-ins have nothing behind them
            and lib.ma_context_get_device_info(
                context._context, kind.value, ffi.addressof(device.id), ffi.addressof(device)
            ) == lib.MA_SUCCESS]


def _called(identity: Any, ffi: Any) -> str:
    """The system's own name of a device."""
    return bytes(ffi.buffer(ffi.addressof(identity))).split(b"\0")[0].decode("utf-8", "replace")
