"""Opening the ears of a job at work: keys always, the microphone where it is wanted."""

from __future__ import annotations

import io
import sys
import time
from collections.abc import Callable
from contextlib import ExitStack, suppress
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from fieldvoice.commands.rim.telling import tell as tell_safely
from fieldvoice.commands.wiring.hearing.voice_watch import watched
from fieldvoice.commands.wiring.hearing.wanted import Hearing
from fieldvoice.commands.wiring.hearing.watch import Trouble, Watch
from fieldvoice.commands.wiring.listening import Arrivals, type_into
from fieldvoice.commands.wiring.models import check_own_or, load_ear
from fieldvoice.language.speech_text import say as in_words

if TYPE_CHECKING:
    from fieldvoice.commands.wiring.hearing.ears import Ears
    from fieldvoice.commands.wiring.live_job import LiveJob
    from fieldvoice.devices.mouth import Speaker

TROUBLE_NAME = "trouble.log"  # in the job's folder: what befell threads, for whoever mends it
_TOLD = {
    ("recognizer", "failed"): "I cannot hear for a moment.",
    ("recognizer", "failing"): "I cannot hear. Type your lines; I keep trying.",
    ("recognizer", "back"): "I hear again.",
    ("microphone", "failing"): "The microphone fails. Type your lines; I keep trying.",
    ("microphone", "back"): "The microphone works again.",
    ("keys", "failed"): "I cannot take typed lines for a moment.",
    ("keys", "back"): "I take typed lines again.",
}


def open_ears(job: LiveJob, how: Hearing, arrivals: Arrivals, stack: ExitStack) -> set[str]:
    """Let lines arrive; returns from where: "typed", and "voice" where that is listened to."""
    tell = _teller(job)
    watch = Watch(lambda trouble: _befell(trouble, tell, job.open_job.folder / TROUBLE_NAME))
    stack.callback(watch.close)
    if job.speaker:
        watch.run("voice", watched(job.speaker, job.output.notice), stall_s=None)
    heard: set[str] = set()
    if job.output.keyboard:  # the screen has it
        heard.add("typed")
    elif how.microphone != "-":  # else the keys' place is taken
        if isinstance(sys.stdin, io.TextIOWrapper):
            sys.stdin.reconfigure(errors="replace")  # a stray byte must not end the typing
        type_into(arrivals, sys.stdin, watch)
        heard.add("typed")
    if job.speaker:
        job.ears = _open_microphone(job, job.speaker, how, arrivals, tell, watch)
        if job.ears is not None:
            stack.callback(job.ears.close)
            heard.add("voice")
    return heard


def _open_microphone(
    job: LiveJob, speaker: Speaker, how: Hearing, arrivals: Arrivals, tell: Callable[[str], None],
    watch: Watch,
) -> Ears | None:
    from fieldvoice.commands.wiring.hearing.ears import Ears
    from fieldvoice.devices.ears import Microphone
    from fieldvoice.devices.recognizer import ModelError

    try:
        check_own_or(how.model)
    except ModelError as error:
        job.output.notice(str(error))
        return None
    how.awaited.by = job.open_job.session.waits_for
    ears = Ears(
        Microphone(tell, how.microphone, how.read),
        how.ear or partial(load_ear, how.model, how.awaited),
        arrivals, speaker.sounding_at, tell, watch, how.push_to_talk,
    )  # fmt: skip
    speaker.someone_speaks = ears.someone_speaks
    speaker.opening.begins = ears.someone_begins
    ears.start()
    return ears


def _teller(job: LiveJob) -> Callable[[str], None]:
    """Says and shows."""

    def tell(text: str) -> None:
        job.output.notice(text)
        if job.speaker:
            job.speaker.say(in_words(text), "alert")

    return tell


def _befell(trouble: Trouble, tell: Callable[[str], None], record: Path) -> None:
    """Tell of a thread that failed, and keep how; the screen is no place for that."""
    if trouble.why:
        with suppress(OSError), record.open("a", encoding="utf-8") as file:
            tell_safely(f"{time.strftime('%Y-%m-%d %H:%M:%S')} {trouble.name}: {trouble.why}",
                        file=file)
    if text := _TOLD.get((trouble.name, trouble.state)):
        tell(text)
