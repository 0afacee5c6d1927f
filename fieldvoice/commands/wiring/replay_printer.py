"""What is printed of a recorded job while it is replayed: a line each, with its time in front."""

from __future__ import annotations

import sys
import textwrap
from pathlib import Path

from fieldvoice.commands.report import write_report
from fieldvoice.commands.rim.telling import tell
from fieldvoice.commands.wiring.intent_fields import describe
from fieldvoice.commands.wiring.replay_score import Score
from fieldvoice.commands.wiring.screen_state import screen_state
from fieldvoice.devices.clock import SimulatedClock
from fieldvoice.devices.joblog import LOG_NAME, read_log
from fieldvoice.devices.screen import clock_line, printable, wants_colour
from fieldvoice.dialogue.assistant import Reply
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate import unit_names as names
from fieldvoice.jobstate.events import Entry
from fieldvoice.jobstate.job import Job
from fieldvoice.jobstate.state import JobState
from fieldvoice.language.intents import Intent
from fieldvoice.quantity.shares import percent
from fieldvoice.quantity.units import counted_in
from fieldvoice.review.figures import headline

WIDTH = 96
_MARKS = {"caution": "CAUTION", "alert": "ALERT", "question": "asks", "prompt": "prompt"}


class ReplayPrinter:
    """Prints one replay."""

    def __init__(self, clock: SimulatedClock) -> None:
        self._clock = clock
        self.about = ""  # voice and noise of the line being heard

    def heading(self, text: str) -> None:
        """Name the job."""
        text = printable(text)
        bold = ("\x1b[1m", "\x1b[0m") if wants_colour(sys.stdout) else ("", "")
        print(f"\n{bold[0]}{text}{bold[1]}", flush=True)
        tell("=" * len(text))

    def entry(self, entry: Entry) -> None:
        """What was heard and what it meant, and the readings that were logged."""
        event = entry.event
        unit = f"{entry.unit}: " if entry.unit else ""
        if isinstance(event, e.LineHeard):
            self._heard(event)
        elif isinstance(event, e.ReadingTaken):
            self.line("logged", f"{unit}{event.quantity} {_value(event)}")
        elif isinstance(event, e.ReadingCorrected):
            self.line("logged", f"{unit}instead {_value(event)}")

    def _heard(self, event: e.LineHeard) -> None:
        sure = "" if event.confidence is None else f"   {percent(event.confidence)} sure"
        about = f"   ({self.about})" if self.about else ""
        mark = "typed" if event.source == "typed" else "heard"
        tell()
        self.line(mark, f'"{event.words}"{sure}{about}' if event.words else f"no words{about}")
        meant = describe(Intent.from_dict(dict(event.intent))) if event.words else "nothing"
        self.line("meant", f"{meant}   [{event.outcome}]")

    def reply(self, reply: Reply) -> None:
        """What was answered."""
        self.line(_MARKS.get(reply.tone, "answer"), reply.text)

    def timers(self, job: Job) -> None:
        """What is left of those that run, as a screen would show it."""
        view = screen_state(job, self._clock.now())
        told = [clock_line(view.timers)] if view.timers else []
        if told or view.others:
            self.line("timers", "   ".join([*told, *view.others]))

    def stopped(self, text: str) -> None:
        """The work stops for a while."""
        tell()
        self.line("stopped", text)

    def line(self, mark: str, text: str) -> None:
        """The time, a mark and a text of one line or more."""
        head = f"{self._clock.now():%H:%M:%S} {mark:>8}  "
        rest = " " * len(head)
        for line in map(printable, text.split("\n")):
            tell(textwrap.fill(line, WIDTH, initial_indent=head, subsequent_indent=rest))
            head = rest

    def result(self, job: Job, folder: Path, score: Score) -> None:
        """Results, ending and curve of each unit, how the lines were heard, where all is kept."""
        found = read_log(folder)
        tell()
        for unit, state in job.states.items():
            if job.several:
                tell(f"{names.at_the_start(names.called(job, unit))}")
            _result(state)
        counts = ", ".join(f"{count} {mark}" for mark, count in score.counts.items())
        tell(f"\nLines:  {counts}\nLog:    {folder / LOG_NAME}")
        report, csv = write_report(found, folder, folder)
        tell(f"Report: {report}\nCSV:    {csv}")


def _result(state: JobState) -> None:
    from fieldvoice.review.text_curve import text_curve

    for result in state.results:
        tell(f"Result: {headline(result.about, result.verdict)}")
    tell(f"Ending: {state.ending or 'still open'}\n")
    tell(text_curve(state, limits_pa=_limits(state)))


def _limits(state: JobState) -> list[tuple[str, float]]:
    """Those in Pa that a vacuum is compared with, not those that a step merely names."""
    asked = [n.high for s in state.procedure.steps for n in s.needs if n.quantity == "vacuum"]
    held = [s.hold.limit for s in state.procedure.steps if s.hold and s.hold.judge == "decay"]
    names = [name for name in dict.fromkeys([*asked, *held]) if name]
    return [(name.replace("-", " "), state.limit_si(name)) for name in names]


def _value(event: e.ReadingTaken | e.ReadingCorrected) -> str:
    return f"{event.value} {counted_in(event.unit)} ({event.si:.5g} {event.si_unit})"
