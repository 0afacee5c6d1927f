"""`fieldvoice work`: work through a procedure, by voice where there is a microphone, and keys."""

from __future__ import annotations

import argparse
import io
import queue
import sys
from contextlib import ExitStack
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldvoice.commands.wiring.errors import INTERRUPTED, OK, CommandError
from fieldvoice.commands.wiring.models import add_model_option, load_recognizer
from fieldvoice.language.speech_text import say as in_words

if TYPE_CHECKING:
    from fieldvoice.commands.wiring.listening import Arrivals, Line
    from fieldvoice.commands.wiring.open_job import OpenJob
    from fieldvoice.devices.screen import Screen
    from fieldvoice.devices.speaker import Speaker
    from fieldvoice.dialogue.assistant import Reply
    from fieldvoice.jobstate.events import Entry

HELP = "work through a procedure, by voice or keys; a job that exists is gone on with"
EXAMPLE = """\
examples:
  fieldvoice work evacuate-and-release --job unit-12b
  fieldvoice work mine.procedure --typed --site 'altitude=5280 ft'
  printf 'understood\\nvacuum 412 microns\\n' | fieldvoice work evacuate-and-release --job try
  fieldvoice work evacuate-and-release --practice     (then type +10min to let ten minutes pass)
"""
BEAT_S = 0.25
PRACTICE_LINE = timedelta(seconds=5)  # what one line takes when practising


def add_parser(commands: Any) -> None:
    """Add the command to argparse's `commands`."""
    parser = commands.add_parser(
        "work", help=HELP, description=HELP, epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    parser.add_argument(
        "procedure", metavar="PROCEDURE",
        help="a procedure file, or a name from `fieldvoice procedure list`",
    )  # fmt: skip
    parser.add_argument(
        "--job", metavar="NAME", help="name or folder of the job; default: procedure, date and time"
    )
    parser.add_argument("--typed", action="store_true", help="keys and screen only")
    parser.add_argument(
        "--site", metavar="FACT=VALUE", action="append", default=[],
        help="something the procedure asks about the place; may be given again",
    )  # fmt: skip
    parser.add_argument(
        "--practice", action="store_true", help="typed, with simulated time: +10min lets it pass"
    )
    add_model_option(parser)


def run(args: argparse.Namespace) -> int:
    """Work until the job is finished, the lines end, or the user interrupts."""
    from fieldvoice.commands.wiring.find_procedure import find_text
    from fieldvoice.commands.wiring.open_job import OpenJob, prepare_units
    from fieldvoice.devices.joblog import job_folder

    prepare_units()
    text, where = find_text(args.procedure)
    site = _facts(args.site)
    folder = job_folder(args.job or _default_name(args.procedure))
    with ExitStack() as stack:
        desk = _Desk(args, stack)
        job = stack.enter_context(OpenJob(folder, text, where, desk.clock, desk.reply, desk.watch))
        for notice in job.notices:
            desk.screen.notice(notice)
        try:
            desk.speak_as_before(job)
            job.start(site)
            desk.show_step(job)
            desk.listen(args.model)
            desk.loop(job)
            code = OK
        except KeyboardInterrupt:
            code = INTERRUPTED
    _say_where(job, args)
    return code


class _Desk:
    """Screen, voice, clock and ears of one job at work."""

    def __init__(self, args: argparse.Namespace, stack: ExitStack) -> None:
        from fieldvoice.devices.clock import Clock, SimulatedClock
        from fieldvoice.devices.screen import Screen

        self.practice = args.practice
        self.clock = SimulatedClock(datetime.now().astimezone()) if args.practice else Clock()
        self.screen: Screen = Screen(sys.stdout)
        self.by_voice = not (args.typed or args.practice) and sys.stdin.isatty()
        self.arrivals: Arrivals = queue.Queue()
        self.speaker: Speaker | None = None
        self._stack = stack
        stack.callback(self.screen.close)
        if self.by_voice:
            from fieldvoice.devices.speaker import Speaker

            self.speaker = Speaker(self.screen.notice)

    def reply(self, reply: Reply) -> None:
        """Show and say."""
        self.screen.reply(reply.text, reply.tone)
        if self.speaker:
            self.speaker.say(in_words(reply.spoken or reply.text))

    def watch(self, entry: Entry) -> None:
        """Keep screen and voice in step with the log."""
        from fieldvoice.jobstate import events as e

        event = entry.event
        if isinstance(event, e.LineHeard):
            self.screen.heard(event.words, event.confidence)
        elif isinstance(event, e.VoiceChanged) and self.speaker:
            self.speaker.change(event.change)
        elif isinstance(event, e.ReadingTaken):
            self.screen.figure(event.value, f"{event.quantity}, {event.unit}")

    def speak_as_before(self, job: OpenJob) -> None:
        """Give the voice the loudness and pace that this job's technician had asked for."""
        if self.speaker:
            for change in job.session.state.voice:
                self.speaker.change(change)

    def listen(self, model: Path | None) -> None:
        """Open the ears: keys always, the microphone when there is one."""
        from fieldvoice.commands.wiring.listening import type_into

        if isinstance(sys.stdin, io.TextIOWrapper):
            sys.stdin.reconfigure(errors="replace")  # a stray byte must not end the typing
        type_into(self.arrivals, sys.stdin)
        if self.by_voice:
            self.by_voice = self._open_microphone(model)

    def _open_microphone(self, model: Path | None) -> bool:
        from fieldvoice.commands.wiring.listening import listen_into
        from fieldvoice.devices.microphone import Microphone, MicrophoneError
        from fieldvoice.devices.recognizer import ModelError

        assert self.speaker is not None
        try:
            microphone = Microphone(self.screen.notice, deaf=self.speaker.speaking)
            self._stack.callback(microphone.close)
            listen_into(self.arrivals, microphone, load_recognizer(model))
        except (MicrophoneError, ModelError) as error:
            self.screen.notice(str(error))
            return False
        return True

    def loop(self, job: OpenJob) -> None:
        """Take lines and ticks until the job is finished or nothing can come any more."""
        from fieldvoice.commands.wiring.listening import Ended

        open_ears = {"typed", "voice"} if self.by_voice else {"typed"}
        while open_ears and not job.session.state.finished:
            try:
                arrived = self.arrivals.get(timeout=BEAT_S)
            except queue.Empty:
                if not self.practice:
                    self._tick(job)
                continue
            if isinstance(arrived, Ended):
                open_ears.discard(arrived.source)
            elif self.practice and arrived.words.startswith("+"):
                self._let_pass(job, arrived.words)
            else:
                self._take(job, arrived)

    def _take(self, job: OpenJob, line: Line) -> None:
        if not line.words and not job.session.state.expects_free_text:
            return  # sound without a word of ours; it is kept only where any words may come
        if self.practice:
            self._let_pass(job, "+5s")
        self._tick(job)
        clip = None if line.sound is None else job.log.save_clip(line.sound.tobytes())
        job.session.hear_line(line.words, line.source, line.confidence, clip, line.ways)
        self._tick(job)
        self.show_step(job)

    def show_step(self, job: OpenJob) -> None:
        """Keep stage and task in sight, whatever was answered last."""
        from fieldvoice.dialogue.prompts import fill

        state = job.session.state
        step = state.open_step
        if step is not None:
            stage = state.procedure.stages[step.stage]
            self.screen.title(stage.title, fill(step.say, state, self.clock.now()))

    def _tick(self, job: OpenJob) -> None:
        from fieldvoice.jobstate.timers import running

        job.session.tick()
        now = self.clock.now()
        timers = running(job.session.state.timers.values())
        self.screen.timers([(t.label, t.remaining(now).total_seconds()) for t in timers])

    def _let_pass(self, job: OpenJob, text: str) -> None:
        from fieldvoice.commands.wiring.simulated_time import let_pass, span
        from fieldvoice.devices.clock import SimulatedClock

        assert isinstance(self.clock, SimulatedClock)
        try:
            let_pass(job.session, self.clock, span(text))
        except CommandError as error:
            self.screen.notice(str(error))


def _facts(given: list[str]) -> dict[str, str]:
    """FACT=VALUE options as a table. Raises CommandError."""
    wrong = [fact for fact in given if "=" not in fact]
    if wrong:
        raise CommandError(f"--site {wrong[0]}: write it as FACT=VALUE, such as 'altitude=5280 ft'")
    return {name.strip(): value.strip() for name, _, value in (f.partition("=") for f in given)}


def _default_name(procedure: str) -> str:
    return f"{Path(procedure).stem}-{datetime.now():%Y-%m-%d-%H%M%S}"


def _say_where(job: OpenJob, args: argparse.Namespace) -> None:
    name = args.job or job.folder.name
    done = job.session.state.finished
    then = f"fieldvoice report {name}" if done else f"fieldvoice work {args.procedure} --job {name}"
    print(f"The job is kept in {job.folder}\n{'Report' if done else 'Go on'} with: {then}")
