"""A moment of the screen: the job, the devices, and what was said."""

from __future__ import annotations

from dataclasses import dataclass, field

from fieldvoice.devices.screen.view import Devices, Said, View


@dataclass(frozen=True)
class Moment:
    """All that the screen shows."""

    view: View = field(default_factory=View)
    devices: Devices = field(default_factory=Devices)
    talk: tuple[Said, ...] = ()  # oldest first
    notices: tuple[str, ...] = ()
    back: int = 0  # pages that the talk is turned back
    plain: bool = False  # ASCII characters alone
