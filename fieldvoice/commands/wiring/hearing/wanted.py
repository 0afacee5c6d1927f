"""How a job is listened to."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from fieldvoice.commands.wiring.hearing.awaited import Awaited

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.devices.ears.played import ReadFile
    from fieldvoice.devices.recognizer import Recognizer


@dataclass(frozen=True)
class Hearing:
    """What was asked for."""

    model: Path | None = None
    microphone: str | None = None  # part of a device's name, or what is played; None: any
    push_to_talk: bool = False
    read: ReadFile | None = None  # gives the sound of a file
    ear: Callable[[], Recognizer] | None = None  # gives recognizers; None: the model's
    awaited: Awaited = field(default_factory=Awaited)  # tells the ear what the job waits for
