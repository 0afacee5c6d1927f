"""Events that are added to a job beside the work on it: a file, a name put right."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.commands.wiring.keeping.clock_of_log import go_on
from fieldvoice.commands.wiring.simulated_time import goes_on_at
from fieldvoice.devices.clock import Clock, SimulatedClock
from fieldvoice.devices.joblog import JobLog
from fieldvoice.dialogue.units.restart import with_what_runs
from fieldvoice.jobstate.events import SIMULATED, Entry, Event
from fieldvoice.jobstate.job import FIRST, Job, fold_job
from fieldvoice.jobstate.state import JobState
from fieldvoice.procedure.model import Procedure

Added = Sequence[tuple[str, Event]]  # each with the unit that it belongs to


def add_to(folder: Path, events_of: Callable[[Job], Added]) -> tuple[Entry, ...]:
    """Log what `events_of` makes of the job, all of it or nothing; returns the entries.

    Times go on as at work. Raises JobLogError, while another process works on it too, and
    CommandError.
    """
    at = goes_on_at(folder)
    clock: Clock | SimulatedClock = Clock()
    with JobLog(folder, steady=clock.steady, boot=clock.boot) as log:
        job = fold_job(Job.of(JobState.empty(Procedure(name="", title="", text=""))), log.entries,
                       lenient=True)
        if not job.begun:
            raise CommandError(f"{folder} holds no events yet; work on the job first")
        simulated = job.mode in SIMULATED
        restarted = None if simulated else go_on(clock, log)
        now = at if simulated else max(clock.now(), at)
        found: list[tuple[str, Event]] = []
        if restarted is not None:  # else the next to work would not learn of it
            found.append((job.open, with_what_runs(job, now, restarted)))
        found += events_of(job)
        entries = tuple(
            Entry(log.next_seq + place, now, event, None if unit == FIRST else unit)
            for place, (unit, event) in enumerate(found))
        log.append_all(entries)
    return entries
