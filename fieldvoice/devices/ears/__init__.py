"""The microphone: found, opened and looked after; sound with the time at which it was captured."""

from fieldvoice.devices.ears.block import RATE, Block, Sound
from fieldvoice.devices.ears.found import Found, choose
from fieldvoice.devices.ears.level import Flatness, clipped_share, peak_db, rms_db
from fieldvoice.devices.ears.microphone import Microphone, SoundSystem
from fieldvoice.devices.ears.played import is_played

__all__ = [
    "RATE", "Block", "Flatness", "Found", "Microphone", "Sound", "SoundSystem", "choose",
    "clipped_share", "is_played", "peak_db", "rms_db",
]  # fmt: skip
