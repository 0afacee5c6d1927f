"""How ears and voice stand, as the screen shows it."""

from __future__ import annotations

from typing import Protocol

from fieldvoice.devices.screen import Devices

_QUIET_DB, _LOUD_DB = -60.0, -6.0  # peaks that the level meter begins and ends with
_STEPS = 8  # it is drawn again only when it moves by one


class _EarsStanding(Protocol):
    @property
    def state(self) -> str: ...
    @property
    def level_db(self) -> float: ...
    @property
    def clipping(self) -> bool: ...
    @property
    def hearing(self) -> str: ...
    @property
    def silent(self) -> bool: ...


class _Ears(Protocol):
    def standing(self) -> _EarsStanding:
        """How they stand now."""
        ...


class _Voice(Protocol):
    @property
    def standing(self) -> str:
        """One of "speaking", "silent", "off", "lost"."""
        ...


def devices_of(ears: _Ears | None, voice: _Voice | None) -> Devices:
    """What there is of them; None: there is no such device."""
    told = voice.standing if voice is not None else "off"
    if ears is None:
        return Devices(voice=told)
    now = ears.standing()
    level = (now.level_db - _QUIET_DB) / (_LOUD_DB - _QUIET_DB)
    steps = round(_STEPS * min(max(level, 0.0), 1.0))
    state = "silent" if now.silent and now.state == "listening" else now.state
    return Devices(state, steps / _STEPS, now.clipping, now.hearing, told)
