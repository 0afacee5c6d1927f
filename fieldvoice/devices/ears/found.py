"""Which microphones there are, and which of them is meant."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

_MONITOR = ".monitor"  # how PulseAudio and PipeWire end the names of what loudspeakers play


@dataclass(frozen=True)
class Found:
    """A device that sound can be captured from."""

    name: str  # as the system shows it
    id: str  # as the sound server knows it; "" where it has no name there
    handle: bytes  # what the sound library wants back
    default: bool = False

    @property
    def monitor(self) -> bool:
        """It captures what a loudspeaker plays, and no voice."""
        return self.id.endswith(_MONITOR) or self.name.startswith("Monitor of ")


def is_alsa_hardware(known: str) -> bool:
    """Whether ALSA's name is that of a card: "hw:1,0". Its plugins hear nothing: "null", "jack"."""
    return ":" in known or known == "default"


def choose(found: Sequence[Found], wanted: str | None = None) -> Found | None:
    """The device that is meant; None when there is none.

    `wanted`: a part of its name, in any case. Without it the system's default; never a
    loudspeaker's monitor, which would take what any program plays for the technician's voice.
    """
    if wanted is not None:
        asked = wanted.casefold()
        named = [d for d in found if asked in d.name.casefold() or asked in d.id.casefold()]
        named.sort(key=lambda d: (asked not in (d.name.casefold(), d.id.casefold()),
                                  d.monitor, not d.default))
        return named[0] if named else None
    microphones = [device for device in found if not device.monitor]
    microphones.sort(key=lambda device: not device.default)
    return microphones[0] if microphones else None
