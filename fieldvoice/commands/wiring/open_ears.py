"""Opening the ears of a job at work: keys always, the microphone where there is a voice."""

from __future__ import annotations

import io
import sys
from contextlib import ExitStack
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from fieldvoice.commands.wiring.listening import Arrivals, listen_into, type_into
from fieldvoice.commands.wiring.models import load_recognizer
from fieldvoice.devices.screen import Devices

if TYPE_CHECKING:
    from fieldvoice.commands.wiring.live_job import LiveJob
    from fieldvoice.devices.speaker import Speaker


def open_ears(job: LiveJob, model: Path | None, arrivals: Arrivals, stack: ExitStack) -> set[str]:
    """Let lines arrive; returns from where: "typed", and "voice" when the microphone opened."""
    if not job.output.keyboard:  # else the screen has it
        if isinstance(sys.stdin, io.TextIOWrapper):
            sys.stdin.reconfigure(errors="replace")  # a stray byte must not end the typing
        type_into(arrivals, sys.stdin)
    return {"typed", "voice"} if _open_microphone(job, model, arrivals, stack) else {"typed"}


def _open_microphone(
    job: LiveJob, model: Path | None, arrivals: Arrivals, stack: ExitStack
) -> bool:
    if job.speaker is None:
        return False
    from fieldvoice.devices.microphone import Microphone, MicrophoneError
    from fieldvoice.devices.recognizer import ModelError

    try:
        microphone = Microphone(job.output.notice, deaf=job.speaker.speaking)
        stack.callback(microphone.close)
        listen_into(arrivals, microphone, load_recognizer(model))
        job.devices = partial(_devices, job.speaker)
    except (MicrophoneError, ModelError) as error:
        job.output.notice(str(error))
        return False
    return True


def _devices(speaker: Speaker) -> Devices:
    """How an open microphone and the voice stand."""
    if speaker.speaking():
        return Devices("deaf", voice="speaking")
    return Devices("listening", voice="silent")
