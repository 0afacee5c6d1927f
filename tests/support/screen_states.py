"""The main states of the screen: jobs typed in simulated time, and what is shown of them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime
from functools import cache

from fieldvoice.commands.wiring.screen.screen_output import Follower
from fieldvoice.devices.screen import Devices
from fieldvoice.devices.screen.board import Board
from fieldvoice.devices.screen.moment import Moment
from fieldvoice.dialogue.units.round import Outcome
from fieldvoice.procedure.model import Procedure
from support.job_bench import JobBench

SIZES = ((80, 24), (40, 20), (120, 40), (200, 60))
PROCEDURE = """\
procedure evacuate "Evacuate a split system and prove it"
limit plate-least = 100 psig source "common practice"
limit plate-most = 900 psig source "common practice"
limit full-low = 125 psig then least-full-stage of design-pressure source "common practice"
limit full-high = 150 psig then full-stage of design-pressure source "common practice"
limit deep-vacuum = 300 microns source "UFGS 15182 section 3.3.3"
limit hold-limit = 500 microns source "common practice"
limit hold-time = 10 min source "common practice"
caution regulator "Regulator and relief valve on, cylinder upright and chained." acknowledge
caution gauge-first "The vacuum gauge takes no pressure and no oil."
stage proof "Nitrogen test"
step plate
  say "Tell me the design pressure on the plate."
  caution regulator
  read design-pressure between plate-least and plate-most
step raise
  say "Raise to {limit.full-high}, then tell me."
  read nitrogen-pressure between full-low and full-high
step let-down
  say "Let the nitrogen off outdoors, slowly."
stage evacuate "Evacuate"
step pull-down
  say "Pull down to {limit.deep-vacuum}. Tell me the vacuum."
  show "Pump valve open, gas ballast shut below 3,000 microns. The gauge stands far from the pump."
  caution gauge-first
  read vacuum at most deep-vacuum
step standing-test
  say "Shut it off. Wait one minute, then say start the hold."
  hold hold-time "standing vacuum" ask vacuum at 0 1 2 5 min judge decay hold-limit
  on tight go to release
  on leaking go to search
  on wet go to pull-down
  on not-yet-clear go to standing-test
step search
  say "Look for the leak with nitrogen and bubbles."
  go to pull-down
step release
  say "Open the liquid valve a quarter turn."
  end released "The system is charged."
"""


class ShownJob(JobBench):
    """A job with the board that a screen would draw."""

    def __init__(
        self, procedure: Procedure | str = PROCEDURE, site: Mapping[str, str] | None = None,
        start: datetime | None = None,
    ) -> None:
        self.board = Board()
        self._follow = Follower(self.board)
        self.devices = Devices("listening", 0.35, voice="silent")
        super().__init__(procedure, site, start=start)

    def take_in(self, outcome: Outcome) -> None:
        """Taken in, and followed."""
        super().take_in(outcome)
        for entry in outcome.entries:
            self._follow.entry(entry)
        for reply in outcome.replies:
            self._follow.reply(reply)

    def go(self, *lines: str | float) -> ShownJob:
        """Lines as they are heard, surely; a number lets so many minutes pass."""
        for line in lines:
            if isinstance(line, str):
                self.say(line, confidence=0.99)
            else:
                self.wait(minutes=line)
        return self

    def moment(self, devices: Devices | None = None) -> Moment:
        """What is drawn now."""
        self._follow.show(self.job, self.now, devices or self.devices)
        return self.board.moment


def at_pull() -> ShownJob:
    """The nitrogen is off, the pump runs."""
    return ShownJob().go("understood", "design pressure four eighty",
                         "nitrogen pressure four seventy", "next", 1.0)


def pulling() -> ShownJob:
    """Four readings of a pull."""
    return at_pull().go("vacuum four thousand microns", 4.0, "eighteen hundred", 4.0,
                          "nine hundred", 4.0, "five hundred twenty", 0.5)


def holding() -> ShownJob:
    """Five minutes into the hold, with a nitrogen timer beside."""
    return pulling().go(6.0, "two ninety", "start the hold", "two ninety two", 1.0,
                          "three oh five", "start a forty minute nitrogen timer", 1.0,
                          "three twelve", 3.0, "three eighteen", 0.2)


def _question() -> Moment:
    return pulling().go("vacuum forty thousand microns").moment()


def _over_the_plate() -> Moment:
    return ShownJob().go("understood", "design pressure four eighty",
                           "nitrogen pressure five hundred twenty").moment()


def _two_units() -> Moment:
    return holding().go("new unit two", "understood", "design pressure four fifty").moment()


def _finished() -> Moment:
    return holding().go(5.5, "three twenty", "next", 0.1).moment()


def _lost() -> Moment:
    job = pulling()
    job.board.notice("The microphone is lost: type, or plug it in again.")
    return job.moment(Devices("lost", voice="silent"))


def _practice() -> Moment:
    found = holding().moment(Devices("off", voice="off"))
    return replace(found, view=replace(found.view, practice=True))


STATES: dict[str, Callable[[], Moment]] = {
    "start": lambda: ShownJob().moment(),
    "waiting for a reading": lambda: at_pull().moment(),
    "pulling down": lambda: pulling().moment(),
    "hold running": lambda: holding().moment(Devices("deaf", voice="speaking")),
    "question open": _question,
    "standing by": lambda: pulling().go("stand by").moment(),
    "note open": lambda: pulling().go("take a note").moment(
        Devices("listening", 0.6, hearing="the flare at the")),
    "over the plate": _over_the_plate,
    "two units": _two_units,
    "finished": _finished,
    "microphone lost": _lost,
    "practice": _practice,
    "too loud": lambda: holding().moment(Devices("push-to-talk", 1.0, True, "three", "lost")),
}


@cache
def moment_of(state: str) -> Moment:
    """The moment of a named state."""
    return STATES[state]()
