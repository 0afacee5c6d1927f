"""A job at work: the open job joined with its clock, its output, its voice and its lines."""

from __future__ import annotations

import queue
from collections.abc import Callable, Mapping
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.commands.wiring.job_output import JobOutput
from fieldvoice.commands.wiring.listening import Arrivals, Deed, Ended, Line
from fieldvoice.commands.wiring.open_job import OpenJob
from fieldvoice.commands.wiring.simulated_time import let_pass, span
from fieldvoice.devices.clock import Clock, SimulatedClock
from fieldvoice.devices.screen import Devices
from fieldvoice.dialogue.assistant import Reply
from fieldvoice.jobstate.events import Entry, VoiceChanged
from fieldvoice.language.speech_text import say as in_words

if TYPE_CHECKING:
    from fieldvoice.devices.speaker import Speaker

BEAT_S = 0.25
PRACTICE_LINE = timedelta(seconds=5)  # what one line takes when practising
DEED_LINES = {"next": "next", "again": "say again"}  # keys that stand for a line


class LiveJob:
    """One job being worked on. With a simulated clock it is practice: a line takes a few seconds,
    and +10min lets time pass. Raises CommandError or JobLogError when the job cannot be opened.
    """

    def __init__(
        self,
        folder: Path,
        procedure: tuple[str, str],
        clock: Clock | SimulatedClock,
        output: JobOutput,
        speaker: Speaker | None = None,
        reopen: str | None = None,
    ) -> None:
        """`procedure`: its text, and what to call it in messages; `reopen` as for OpenJob."""
        self.output, self.speaker = output, speaker
        self._clock = clock
        self.devices: Callable[[], Devices] = Devices  # how ears and voice stand now
        self.deeds: dict[str, Callable[[], None]] = {}  # what other keys do, by their names
        self.open_job = OpenJob(folder, *procedure, clock, self._reply, self._watch, reopen)

    def start(self, site: Mapping[str, str], depth: str | None = None) -> None:
        """Begin, or go on in the loudness and pace that the technician had asked for."""
        for notice in self.open_job.notices:
            self.output.notice(notice)
        if self.speaker:
            for change in self.open_job.session.job.voice:
                self.speaker.change(change)
        self.open_job.start(site, depth)
        self._show()

    def work(self, arrivals: Arrivals, ears: set[str]) -> None:
        """Take lines and ticks until the job is finished or no ear can hear any more."""
        while ears and not self.open_job.session.job.finished:
            try:
                arrived = arrivals.get(timeout=BEAT_S)
            except queue.Empty:
                if isinstance(self._clock, Clock):
                    self.open_job.session.tick()
            else:
                if isinstance(arrived, Ended):
                    ears = ears - {arrived.source}
                elif isinstance(arrived, Deed):
                    self._do(arrived.name)
                else:
                    self._take(arrived)
            self._show()

    def _take(self, line: Line) -> None:
        if isinstance(self._clock, SimulatedClock) and line.words.startswith("+"):
            self._let_pass(line.words, self._clock)
        elif line.words or self.open_job.session.expects_free_text:
            self._hear(line)  # else sound without a word of ours, of no use here

    def _do(self, name: str) -> None:
        if name in DEED_LINES:
            self._take(Line(DEED_LINES[name], "typed"))
        elif name in self.deeds:
            self.deeds[name]()

    def _hear(self, line: Line) -> None:
        session = self.open_job.session
        if isinstance(self._clock, SimulatedClock):
            let_pass(session, self._clock, PRACTICE_LINE)
        session.tick()
        clip = None if line.sound is None else self.open_job.log.save_clip(line.sound.tobytes())
        session.hear_line(line.words, line.source, line.confidence, clip, line.ways)
        session.tick()

    def _let_pass(self, written: str, clock: SimulatedClock) -> None:
        try:
            let_pass(self.open_job.session, clock, span(written))
        except CommandError as error:
            self.output.notice(str(error))

    def _reply(self, reply: Reply) -> None:
        self.output.reply(reply)
        if self.speaker and reply.aloud:
            self.speaker.say(in_words(reply.told))

    def _watch(self, entry: Entry) -> None:
        self.output.entry(entry)
        if self.speaker and isinstance(entry.event, VoiceChanged):
            self.speaker.change(entry.event.change)

    def _show(self) -> None:
        self.output.show(self.open_job.session.job, self._clock.now(), self.devices())

    def __enter__(self) -> LiveJob:
        return self

    def __exit__(self, *error: object) -> None:
        self.open_job.close()
