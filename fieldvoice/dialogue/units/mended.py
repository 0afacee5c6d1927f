"""A damaged log is gone on with: logged, and said once."""

from __future__ import annotations

from datetime import datetime

from fieldvoice.dialogue.units.round import Outcome, Round
from fieldvoice.jobstate.events import LogMended
from fieldvoice.jobstate.job import Job


def mend(job: Job, now: datetime, mended: LogMended) -> Outcome:
    """Log what was wrong, and say how much does not count."""
    turns = Round(job, now)
    turn = turns.turn(job.open)
    turn.emit(mended)
    words = spoken(mended)
    turn.say("alert", f"{words} {'; '.join(mended.faults)}.", words)
    turns.take(job.open, turn.finish())
    return turns.finish()


def spoken(mended: LogMended) -> str:
    """What is said of it aloud."""
    count = len(mended.lines)
    lost = {0: "", 1: " One line of it does not count."}.get(
        count, f" {count} lines of it do not count.")
    gone = " Lines are missing." if any("missing" in fault for fault in mended.faults) else ""
    if any("may be another" in fault for fault in mended.faults):
        gone += " Its procedure may be another one than it began with, check its limits."
    return f"The log of this job was damaged.{lost}{gone} Work goes on with what is left."
