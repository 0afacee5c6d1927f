"""Playing a recorded job: each line is decoded, understood, answered and logged, and is shown."""

from __future__ import annotations

import os
import sys
import textwrap
import time
from collections import Counter
from dataclasses import dataclass, field, replace
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from fieldvoice.commands.report import write_report
from fieldvoice.commands.wiring.find_procedure import find_text
from fieldvoice.commands.wiring.intent_fields import describe
from fieldvoice.commands.wiring.open_job import OpenJob
from fieldvoice.commands.wiring.recorded_jobs import RecordedJob, RecordedLine
from fieldvoice.commands.wiring.simulated_time import let_pass
from fieldvoice.devices.clock import SimulatedClock
from fieldvoice.devices.joblog import LOG_NAME, read_log
from fieldvoice.devices.screen import clock_line
from fieldvoice.devices.soundfile import RATE, read_sound
from fieldvoice.dialogue.assistant import Reply
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.events import Entry
from fieldvoice.jobstate.timers import running, say_duration
from fieldvoice.language.intents import Intent, NotUnderstood
from fieldvoice.language.parser import understand

if TYPE_CHECKING:
    from fieldvoice.devices.recognizer import Recognizer
    from fieldvoice.devices.speaker import Speaker

WIDTH = 96
_FOLLOWS = ("reason", "gate", "finish")  # what a skip, or an early end, is answered with
_MOST_TRIES = 3
SAID_AGAIN_AFTER = timedelta(seconds=4)
_MARKS = {"caution": "CAUTION", "alert": "ALERT", "question": "asks", "prompt": "prompt"}


@dataclass
class Score:
    """How the lines of a job were heard, and what the hearing cost."""

    counts: Counter[str] = field(default_factory=Counter)
    sound_s: float = 0.0
    decoding_s: float = 0.0  # processor time


class Player:
    """One recorded job."""

    def __init__(
        self, job: RecordedJob, folder: Path, recognizer: Recognizer, speaker: Speaker | None
    ) -> None:
        self.job, self.folder = job, folder
        self.recognizer, self.speaker = recognizer, speaker
        self.clock = SimulatedClock(job.start)
        self.score = Score()
        self.heard: e.LineHeard | None = None
        self.asked = ""  # why the line was answered with a question
        self.rightly = True  # it was heard as it was meant, believed or not
        self.about = ""  # the line being heard
        self.open = self._open()

    def _open(self) -> OpenJob:
        """A new job; or the one that was stopped, read back from its folder."""
        text, where = find_text(self.job.procedure)
        return OpenJob(self.folder, text, where, self.clock, self._reply, self._watch)

    def play(self) -> Score:
        """Hear all lines; then show the result and write the report."""
        _print_heading(f"{self.job.title}  ({self.job.name})")
        try:
            self.open.start(self.job.site)
            for line in self.job.lines:
                self._play_line(line)
        finally:
            self.open.close()
        self._show_result()
        return self.score

    def _play_line(self, line: RecordedLine) -> None:
        let_pass(self.open.session, self.clock, line.gap)
        if line.sound is not None:
            self.score.counts[self._hear_line(line, line.sound)] += 1
        elif line.typed:
            self.score.counts[self._type(line.typed)] += 1
        if line.stopped is not None:
            self._stop(line.stopped)

    def _stop(self, time: timedelta) -> None:
        """Close the job, let the time pass unseen, and go on from what is on the disk."""
        self.open.close()
        print()
        self._show("stopped", f"The work stops; the job is closed. {say_duration(time)} later:")
        self.clock.move(time)
        self.open = self._open()
        self.open.start(self.job.site)
        self._show_timers()

    def _type(self, line: str) -> str:
        self.heard, self.asked, self.about = None, "", ""
        intent = self.open.session.hear_line(line, "typed")
        self._show_timers()
        return judged(understand(line), intent, self._outcome())

    def _hear_line(self, line: RecordedLine, sound: Path) -> str:
        """Hear the line, and what a technician says where it was not enough; how it went."""
        first = mark = self._hear(line, sound)
        for _ in range(_MOST_TRIES):
            if mark == "asked back" and self.rightly and line.yes is not None:
                more, text = line.yes, "yes"
            elif mark in ("asked back", "not taken") and line.again is not None:
                more, text = line.again, line.text
            else:
                break
            let_pass(self.open.session, self.clock, SAID_AGAIN_AFTER)
            mark = self._hear(replace(line, text=text), more)
        return "said again" if (first, mark) == ("not taken", "right") else (
            mark if mark == "wrong" else first)

    def _hear(self, line: RecordedLine, sound: Path) -> str:
        pcm = read_sound(sound)
        began = time.process_time()
        utterance = self.recognizer.hear(pcm)
        self.score.decoding_s += time.process_time() - began
        self.score.sound_s += len(pcm) / RATE
        clip = self.open.log.save_clip(pcm.tobytes())
        self.heard, self.asked, self.about = None, "", line.about
        intent = self.open.session.hear_line(
            utterance.words, "recording", utterance.confidence, clip,
            [(way.words, way.share) for way in utterance.ways],
        )  # fmt: skip
        said = understand(line.text, typed=False)
        self.rightly = intent == said
        mark = judged(said, intent, self._outcome())
        if mark != "right":
            self._show("said", f'"{line.text}": {mark}')
        self._show_timers()
        return mark

    def _outcome(self) -> str:
        """What came of the line; a question that follows from it does not doubt the hearing."""
        outcome = self.heard.outcome if self.heard else "ignored"
        return "accepted" if outcome == "asked-back" and self.asked in _FOLLOWS else outcome

    def _watch(self, entry: Entry) -> None:
        event = entry.event
        if isinstance(event, e.LineHeard):
            self.heard = event
            self._show_heard(event)
            meant = describe(Intent.from_dict(dict(event.intent))) if event.words else "nothing"
            self._show("meant", f"{meant}   [{event.outcome}]")
        elif isinstance(event, e.Asked):
            self.asked = event.why
        elif isinstance(event, e.ReadingTaken):
            self._show("logged", f"{event.quantity} {event.value} {event.unit}{_si(event)}")
        elif isinstance(event, e.ReadingCorrected):
            self._show("logged", f"instead {event.value} {event.unit}{_si(event)}")

    def _reply(self, reply: Reply) -> None:
        self._show(_MARKS.get(reply.tone, "answer"), reply.text)
        if self.speaker:
            self.speaker.say(reply.spoken or reply.text)
            self.speaker.wait()

    def _show_heard(self, heard: e.LineHeard) -> None:
        sure = "" if heard.confidence is None else f"   {heard.confidence:.0%} sure"
        about = f"   ({self.about})" if self.about else ""
        print()
        mark = "typed" if heard.source == "typed" else "heard"
        self._show(mark, f'"{heard.words}"{sure}{about}' if heard.words else f"no words{about}")

    def _show_timers(self) -> None:
        now = self.clock.now()
        timers = running(self.open.session.state.timers.values())
        if timers:
            left = [(t.label, t.remaining(now).total_seconds()) for t in timers]
            self._show("timers", clock_line(left))

    def _show(self, mark: str, text: str) -> None:
        head = f"{self.clock.now():%H:%M:%S} {mark:>8}  "
        for line in text.split("\n"):
            rest = " " * len(head)
            print(textwrap.fill(line, WIDTH, initial_indent=head, subsequent_indent=rest))
            head = rest

    def _show_result(self) -> None:
        from fieldvoice.review.text_curve import text_curve

        state = self.open.session.state
        found = read_log(self.folder)
        # those that a reading or a hold is compared with, not those that a step merely names
        asked = [n.high for s in state.procedure.steps for n in s.needs if n.quantity == "vacuum"]
        held = [s.hold.limit for s in state.procedure.steps if s.hold and s.hold.judge == "decay"]
        limits = [
            (name.replace("-", " "), state.limit_si(name))
            for name in dict.fromkeys([*asked, *held])
            if name
        ]
        print()
        for result in state.results:
            print(f"Result: {result.about.replace('-', ' ')}: {result.verdict.replace('-', ' ')}")
        print(f"Ending: {state.ending or 'still open'}\n")
        print(text_curve(state, limits_pa=limits))
        counts = ", ".join(f"{count} {mark}" for mark, count in self.score.counts.items())
        print(f"\nLines:  {counts}\nLog:    {self.folder / LOG_NAME}")
        report, csv = write_report(found, self.folder, self.folder)
        print(f"Report: {report}\nCSV:    {csv}")


def _si(event: e.ReadingTaken | e.ReadingCorrected) -> str:
    return f" ({event.si:.5g} {event.si_unit})"


def judged(said: Intent, heard: Intent, outcome: str) -> str:
    """How a line went: "right", "asked back", "not taken" (nothing done) or "wrong".

    A line that is not for us is right when nothing was done about it.
    """
    if outcome == "asked-back":
        return "asked back"
    if heard == said:
        return "right"
    if isinstance(said, NotUnderstood) and (
        isinstance(heard, NotUnderstood) or outcome == "ignored"
    ):
        return "right"
    return "wrong" if outcome == "accepted" else "not taken"


def _print_heading(text: str) -> None:
    bold = sys.stdout.isatty() and not os.environ.get("NO_COLOR")
    print(f"\n\x1b[1m{text}\x1b[0m" if bold else f"\n{text}")
    print("=" * len(text))
