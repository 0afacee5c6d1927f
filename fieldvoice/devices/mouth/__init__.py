"""The mouth: replies are put into an order, synthesized, and played by one playback stream."""

from fieldvoice.devices.mouth.errors import LoudspeakerError, VoiceError
from fieldvoice.devices.mouth.loudspeaker import (
    DEVICE_S,
    Loudspeaker,
    has_loudspeaker,
    loudspeakers,
)
from fieldvoice.devices.mouth.speaker import RATES, Speaker
from fieldvoice.devices.mouth.voices import VOICES, Voices

__all__ = [
    "DEVICE_S", "RATES", "VOICES", "Loudspeaker", "LoudspeakerError", "Speaker", "VoiceError",
    "Voices", "has_loudspeaker", "loudspeakers",
]  # fmt: skip
