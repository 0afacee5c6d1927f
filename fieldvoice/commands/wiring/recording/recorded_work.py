"""A recording made on site becomes a job's log: its lines at the times at which they were said."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from fieldvoice.commands.rim.progress import Progress
from fieldvoice.commands.wiring.hearing.spoken import Spoken
from fieldvoice.commands.wiring.listening import CutShort, Line
from fieldvoice.commands.wiring.open_job import OpenJob
from fieldvoice.commands.wiring.recording.site_recording import SiteRecording
from fieldvoice.commands.wiring.simulated_time import let_pass
from fieldvoice.devices.clock import SimulatedClock
from fieldvoice.devices.ears import Block
from fieldvoice.devices.recognizer import CHUNK
from fieldvoice.devices.soundfile import RATE
from fieldvoice.dialogue.assistant import Reply
from fieldvoice.jobstate.events import RECORDING, Entry, LineHeard, OwnVoiceUsed

if TYPE_CHECKING:
    from fieldvoice.commands.wiring.recording.told import Told
    from fieldvoice.devices.recognizer import Recognizer

SOURCE = "recording"
TICK = timedelta(seconds=1)


class RecordedWork:
    """A job that takes in a recording. Its clock is the recording's: timers and holds run in it.

    Raises CommandError or JobLogError when the job cannot be opened.
    """

    def __init__(
        self, folder: Path, procedure: tuple[str, str], recording: SiteRecording,
        recognizer: Recognizer, clock: SimulatedClock, told: Told,
    ) -> None:
        """`procedure`: its text, and what to call it; `clock`: stands where hearing begins."""
        self._recording, self._clock, self._told = recording, clock, told
        self._spoken = Spoken(recognizer)
        self._progress = Progress(recording.path, recording.seconds)
        self.outcomes: Counter[str] = Counter()
        self.open_job = OpenJob(folder, *procedure, clock, self._reply, self._watch,
                                mode=RECORDING)

    @property
    def at_s(self) -> float:
        """How far into the recording the job's time has come."""
        return (self._clock.now() - self._recording.began).total_seconds()

    def start(self, site: Mapping[str, str], voice: OwnVoiceUsed) -> None:
        """Begin the job, or go on with it, and log which recording it is that is heard, with whose
        voice.
        """
        for notice in self.open_job.notices:
            self._told.notice(notice)
        self.open_job.start(site, voice=voice)
        self.open_job.session.take_recording(self._recording.as_event(self.at_s))

    def hear(self) -> None:
        """Hear from where the clock stands to the end, or until the job is finished."""
        pcm = self._recording.pcm
        for begin in range(round(self.at_s * RATE), len(pcm), CHUNK):
            if self.open_job.session.job.finished:
                break
            block = Block(pcm[begin : begin + CHUNK], begin / RATE)
            self._take(list(self._spoken.hear(block)), block.end)
        else:
            self._take(list(self._spoken.finish()), self._recording.seconds)
            self._let_pass(self._recording.seconds)
        self._progress.clear()

    def _take(self, lines: list[Line | CutShort], at_s: float) -> None:
        """Lines that had ended by then; time passes in whole ticks between them."""
        if lines or timedelta(seconds=at_s - self.at_s) >= TICK:
            self._let_pass(at_s)
        for line in lines:
            if isinstance(line, Line) and not self.open_job.session.job.finished:
                self._hear_line(line)
        self._progress.at(at_s)

    def _let_pass(self, until_s: float) -> None:
        let_pass(self.open_job.session, self._clock, timedelta(seconds=until_s - self.at_s))

    def _hear_line(self, line: Line) -> None:
        session = self.open_job.session
        if line.sound is None or not (line.words or session.expects_free_text):
            return  # sound without a word of ours
        clip = (self.open_job.log.save_clip(line.sound.tobytes())
                if session.state.keeps_clips else None)
        session.hear_line(line.words, SOURCE, line.confidence, clip, line.ways,
                          clipped=line.clipped, loudness=line.loudness, clarity=line.clarity)
        session.tick()

    def _reply(self, reply: Reply) -> None:
        self._progress.clear()
        self._told.reply(reply)

    def _watch(self, entry: Entry) -> None:
        if isinstance(entry.event, LineHeard):
            self.outcomes[entry.event.outcome] += 1
        self._progress.clear()
        self._told.entry(entry)

    def __enter__(self) -> RecordedWork:
        return self

    def __exit__(self, *error: object) -> None:
        self._progress.clear()
        self.open_job.close()
