"""The mouth: replies are put into an order, synthesized, and played by one playback stream."""

from fieldvoice.devices.mouth.errors import LoudspeakerError, VoiceError
from fieldvoice.devices.mouth.loudspeaker import has_loudspeaker
from fieldvoice.devices.mouth.speaker import RATES, Speaker
from fieldvoice.devices.mouth.voices import VOICES, Voices

__all__ = [
    "RATES", "VOICES", "LoudspeakerError", "Speaker", "VoiceError", "Voices", "has_loudspeaker",
]  # fmt: skip
