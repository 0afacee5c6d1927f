"""A job at work: the open job joined with its clock, its output, its voice and its lines."""

from __future__ import annotations

import queue
import time
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.commands.wiring.job_output import JobOutput, JsonOutput
from fieldvoice.commands.wiring.keeping.clock_of_log import jumped
from fieldvoice.commands.wiring.keeping.photos import Photos
from fieldvoice.commands.wiring.keeping.refused_writes import RefusedWrites
from fieldvoice.commands.wiring.listening import Arrivals, CutShort, Deed, Ended, Line
from fieldvoice.commands.wiring.open_job import OpenJob
from fieldvoice.commands.wiring.screen.device_states import devices_of
from fieldvoice.commands.wiring.simulated_time import let_pass, span
from fieldvoice.devices.clock import Clock, SimulatedClock
from fieldvoice.devices.joblog import JobLogError, RescueFile
from fieldvoice.dialogue.assistant import Reply
from fieldvoice.jobstate.events import (
    PRACTICE,
    WORK,
    Clip,
    Entry,
    LineHeard,
    OwnVoiceUsed,
    VoiceChanged,
)
from fieldvoice.language.speech_text import say as in_words

if TYPE_CHECKING:
    from fieldvoice.commands.wiring.hearing.ears import Ears
    from fieldvoice.devices.mouth import Speaker

BEAT_S = 0.25
TONES = {"accepted": "heard", "asked-back": "asked-back", "refused": "not-taken",
         "ignored": "not-taken"}  # outcome of a line -> what sounds where no words do
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
        mend: bool = False,
    ) -> None:
        """`procedure`: its text, and what to call it in messages; `reopen`, `mend`: see OpenJob."""
        mode = PRACTICE if isinstance(clock, SimulatedClock) else WORK
        self.output, self.speaker = output, speaker
        self.ears: Ears | None = None
        self._clock = clock
        self._refused = RefusedWrites(
            self._reply, output.notice, output.entry if isinstance(output, JsonOutput) else None)
        self._outcome = ""  # of the line that was heard last
        self._unsealed = ""  # why the job could not be sealed, as it was told
        self.open_job = OpenJob(
            folder, *procedure, clock, self._reply, self._watch, reopen, mode, mend)

    def watch_photos(self, watched: Path) -> None:
        """Keep the newest photo of a folder when a line asks for it. Raises CommandError."""
        self.open_job.session.photo = Photos(watched, self.open_job.folder).newest

    def start(
        self, site: Mapping[str, str], depth: str | None = None, clips: bool | None = None,
        voice: OwnVoiceUsed | None = None,
    ) -> None:
        """Begin, or go on in the loudness and pace that the technician had asked for."""
        for notice in self.open_job.notices:
            self.output.notice(notice)
        if self.speaker:
            for change in self.open_job.session.job.voice:
                self.speaker.change(change)
            self.speaker.new_turn(asked=False, opening=True)
        self.open_job.start(site, depth, clips, voice)
        self._refused.file = self.open_job.log.file
        self._refused.file.keep_aside(
            RescueFile(self.open_job.folder.resolve().name, self._clock.now()))
        self._show()

    def work(self, arrivals: Arrivals, ears: set[str]) -> None:
        """Take lines and ticks until the job is finished or no ear can hear any more."""
        while ears and not self.open_job.session.job.finished:
            self._look_at_clock()
            try:
                arrived = arrivals.get(timeout=BEAT_S)
            except queue.Empty:
                if isinstance(self._clock, Clock):
                    self._tick()
            else:
                if isinstance(arrived, Ended):
                    ears = self._left(ears - {arrived.source})
                elif isinstance(arrived, CutShort):
                    self._hear_cut(arrived)
                elif isinstance(arrived, Deed):
                    self._do(arrived.name)
                else:
                    self._take(arrived)
            self._show()

    def _look_at_clock(self) -> None:
        jump = self._clock.jump() if isinstance(self._clock, Clock) else None
        if jump is not None:
            self._refused.guard(lambda: self.open_job.session.clock_set(jumped(jump)))

    def _left(self, ears: set[str]) -> set[str]:
        """Without keys, a microphone that is not there gives no line either."""
        lost = self.ears is not None and self.ears.standing().state == "lost"
        return set() if ears == {"voice"} and lost else ears

    def _do(self, deed: str) -> None:
        """What a key stands for."""
        if deed == "hush" and self.speaker is not None:
            self.speaker.hush()
        elif deed == "talk" and self.ears is not None:
            self.ears.talk(not self.ears.key.on)
        elif deed in DEED_LINES:
            self._take(Line(DEED_LINES[deed], "typed"))

    def _hear_cut(self, cut: CutShort) -> None:
        self._end_opening(by_key=False)
        self._tick()
        clip = self._clip(cut.sound)
        self._answer(lambda: self.open_job.session.hear_cut(cut.words, cut.why, clip))

    def _take(self, line: Line) -> None:
        if isinstance(self._clock, SimulatedClock) and line.words.startswith("+"):
            self._let_pass(line.words, self._clock)
        elif line.words or self.open_job.session.expects_free_text:
            self._hear(line)  # else sound without a word of ours, of no use here

    def _hear(self, line: Line) -> None:
        session = self.open_job.session
        clock = self._clock
        if isinstance(clock, SimulatedClock):
            self._refused.guard(lambda: let_pass(session, clock, PRACTICE_LINE))
        self._end_opening(by_key=line.source == "typed")
        self._tick()
        clip = self._clip(line.sound)
        self._outcome = ""
        self._answer(lambda: session.hear_line(
            line.words, line.source, line.confidence, clip, line.ways, clipped=line.clipped,
            loudness=line.loudness, clarity=line.clarity, at=self._spoken_at(line)))
        self._signal(line)
        self._tick()

    def _spoken_at(self, line: Line) -> datetime | None:
        """When it was said, though it may have waited to be heard; None: now."""
        if line.ended is None or not isinstance(self._clock, Clock):
            return None
        return self._clock.now() - timedelta(seconds=max(0.0, time.monotonic() - line.ended))

    def _end_opening(self, *, by_key: bool) -> None:
        if self.speaker:
            self.speaker.end_opening(by_key=by_key)

    def _answer(self, hear: Callable[[], object]) -> None:
        """Let a line be dealt with; what is said then answers it."""
        if self.speaker:
            self.speaker.new_turn(asked=True)
        self._refused.guard(hear)

    def _clip(self, sound: NDArray[np.int16] | None) -> Clip | None:
        """The sound of a line, kept; None where none is kept, or the disk refuses it: the words
        still count.
        """
        if sound is None or not self.open_job.session.state.keeps_clips:
            return None
        try:
            return self.open_job.log.save_clip(sound.tobytes())
        except JobLogError as error:
            self.output.notice(f"the sound of that line is not kept: {error}")
            return None

    def _signal(self, line: Line) -> None:
        """A tone for a spoken line that no words answer; sounds without words are no lines."""
        kind = TONES.get(self._outcome)
        standing_by = self.open_job.session.state.standing_by
        if self.speaker and kind and line.source == "voice" and line.words and not standing_by:
            self.speaker.signal(kind)

    def _tick(self) -> None:
        if self.speaker:  # what time brings, nobody has asked for
            self.speaker.new_turn(asked=False)
        self._refused.guard(self.open_job.session.tick)

    def _let_pass(self, written: str, clock: SimulatedClock) -> None:
        try:
            passed = span(written)
            self._refused.guard(lambda: let_pass(self.open_job.session, clock, passed))
            self._refused.guard(lambda: self.open_job.session.let_pass(passed.total_seconds()))
        except CommandError as error:
            self.output.notice(str(error))

    def _reply(self, reply: Reply) -> None:
        self.output.reply(reply)
        if self.speaker and reply.aloud:
            self.speaker.say(in_words(reply.told), reply.tone)

    def _watch(self, entry: Entry) -> None:
        for shown in self._refused.counted(entry):
            self.output.entry(shown)
        if isinstance(entry.event, LineHeard):
            self._outcome = entry.event.outcome
        if self.speaker and isinstance(entry.event, VoiceChanged):
            self.speaker.change(entry.event.change)

    def _tell_unsealed(self) -> None:
        """Once, and again where the reason is another one."""
        why = self.open_job.log.unsealed
        if why not in ("", self._unsealed):
            self._unsealed = why
            self.output.notice(f"this job is not sealed ({why}): lines cut off its end could go "
                               "unnoticed. All that you say is logged")

    def _show(self) -> None:
        self._tell_unsealed()
        self.output.show(self.open_job.session.job, self._clock.now(),
                         devices_of(self.ears, self.speaker))

    def __enter__(self) -> LiveJob:
        return self

    def __exit__(self, *error: object) -> None:
        if left := self._refused.left():
            self.output.notice(left)
        self.open_job.close()
        self._tell_unsealed()
        if self.speaker:
            self.speaker.close()
