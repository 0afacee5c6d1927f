"""Replaying a recorded job: each line is decoded, understood, answered and logged."""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from fieldvoice.commands.wiring.find_procedure import find_text
from fieldvoice.commands.wiring.hearing.loudness import clarity
from fieldvoice.commands.wiring.open_job import OpenJob
from fieldvoice.commands.wiring.recorded_jobs import RecordedJob, RecordedLine
from fieldvoice.commands.wiring.replay_printer import ReplayPrinter
from fieldvoice.commands.wiring.replay_score import Score, judged
from fieldvoice.commands.wiring.simulated_time import let_pass
from fieldvoice.devices.clock import SimulatedClock
from fieldvoice.devices.soundfile import RATE, read_sound
from fieldvoice.dialogue.assistant import Reply
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.events import Entry
from fieldvoice.jobstate.timers import say_duration
from fieldvoice.language.intents import Intent
from fieldvoice.language.parser import understand
from fieldvoice.language.speech_text import say as in_words

if TYPE_CHECKING:
    from fieldvoice.devices.mouth import Speaker
    from fieldvoice.devices.recognizer import Recognizer

_MOST_TRIES = 3
SAID_AGAIN_AFTER = timedelta(seconds=4)


class Replay:
    """One recorded job, joined with a simulated clock, an ear, a voice and what prints it."""

    def __init__(
        self, job: RecordedJob, folder: Path, recognizer: Recognizer, speaker: Speaker | None,
        voice: e.OwnVoiceUsed = e.NO_OWN_VOICE,
    ) -> None:
        self.job, self.folder = job, folder
        self.recognizer, self.speaker = recognizer, speaker
        self.voice = voice  # whose the recognizer hears with
        self.score = Score()
        self._clock = SimulatedClock(job.start)
        self._printer = ReplayPrinter(self._clock)
        self._outcome = self._asked = ""  # of the line being heard
        self._rightly = True  # it was heard as it was meant, believed or not
        self.open_job = self._opened()

    def _opened(self) -> OpenJob:
        """A new job; or the one that was stopped, read back from its folder."""
        text, where = find_text(self.job.procedure)
        return OpenJob(self.folder, text, where, self._clock, self._reply, self._watch,
                       mode=e.REPLAY)

    def play(self) -> Score:
        """Hear all lines; then show the result and write the report."""
        self._printer.heading(f"{self.job.title}  ({self.job.name})")
        try:
            self.open_job.start(self.job.site, voice=self.voice)
            for line in self.job.lines:
                self._play_line(line)
        finally:
            self.open_job.close()
        self._printer.result(self.open_job.session.job, self.folder, self.score)
        return self.score

    def _play_line(self, line: RecordedLine) -> None:
        let_pass(self.open_job.session, self._clock, line.gap)
        if line.sound is not None:
            self.score.counts[self._hear_line(line, line.sound)] += 1
        elif line.typed:
            self.score.counts[self._type(line.typed)] += 1
        if line.stopped is not None:
            self._stop(line.stopped)

    def _stop(self, span: timedelta) -> None:
        """Close the job, let the time pass unseen, and go on from what is on the disk."""
        self.open_job.close()
        self._printer.stopped(f"The work stops; the job is closed. {say_duration(span)} later:")
        self._clock.move(span)
        self.open_job = self._opened()
        self.open_job.start(self.job.site, voice=self.voice)
        self._printer.timers(self.open_job.session.job)

    def _type(self, line: str) -> str:
        self._expect("")
        intent = self.open_job.session.hear_line(line, "typed")
        self._printer.timers(self.open_job.session.job)
        return judged(understand(line), intent, self._outcome, self._asked)

    def _hear_line(self, line: RecordedLine, sound: Path) -> str:
        """Hear the line, and what a technician says where it was not enough; how it went."""
        first = mark = self._hear(line, sound)
        for _ in range(_MOST_TRIES):
            if mark == "asked back" and self._rightly and line.yes is not None:
                more, text = line.yes, "yes"
            elif mark in ("asked back", "not taken") and line.again is not None:
                more, text = line.again, line.text
            else:
                break
            let_pass(self.open_job.session, self._clock, SAID_AGAIN_AFTER)
            mark = self._hear(replace(line, text=text), more)
        said_again = (first, mark) == ("not taken", "right")
        return "said again" if said_again else mark if mark == "wrong" else first

    def _hear(self, line: RecordedLine, sound: Path) -> str:
        self._expect(line.about)
        said, heard = understand(line.text, typed=False), self._decode(sound)
        self._rightly = heard == said
        mark = judged(said, heard, self._outcome, self._asked)
        if mark != "right":
            self._printer.line("said", f'"{line.text}": {mark}')
        self._printer.timers(self.open_job.session.job)
        return mark

    def _decode(self, sound: Path) -> Intent:
        """Take the sound in; what was understood."""
        pcm = read_sound(sound)
        began = time.process_time()
        utterance = self.recognizer.hear(pcm)
        self.score.decoding_s += time.process_time() - began
        self.score.sound_s += len(pcm) / RATE
        clip = self.open_job.log.save_clip(pcm.tobytes())
        return self.open_job.session.hear_line(
            utterance.words, "recording", utterance.confidence, clip,
            [(way.words, way.share) for way in utterance.ways],
            clarity=clarity(pcm, unlike=utterance.unlike),
        )  # fmt: skip

    def _expect(self, about: str) -> None:
        self._outcome, self._asked, self._printer.about = "ignored", "", about

    def _watch(self, entry: Entry) -> None:
        if isinstance(entry.event, e.LineHeard):
            self._outcome = entry.event.outcome
        elif isinstance(entry.event, e.Asked):
            self._asked = entry.event.why
        self._printer.entry(entry)

    def _reply(self, reply: Reply) -> None:
        self._printer.reply(reply)
        if self.speaker and reply.aloud:
            self.speaker.say(in_words(reply.told), reply.tone)
            self.speaker.wait()
