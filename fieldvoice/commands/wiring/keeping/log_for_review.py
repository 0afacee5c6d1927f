"""A job's log held for the moment that a review is written, with the moment by its own clock."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.commands.wiring.keeping.clock_of_log import go_on
from fieldvoice.devices.clock import Clock
from fieldvoice.devices.joblog import JobLog
from fieldvoice.jobstate.events import SIMULATED
from fieldvoice.jobstate.job import Job, fold_job
from fieldvoice.jobstate.state import JobState
from fieldvoice.jobstate.timers import running
from fieldvoice.procedure.model import Procedure

_NONE = Procedure(name="", title="", text="")


@contextmanager
def log_for_review(folder: Path) -> Iterator[tuple[JobLog, datetime]]:
    """The log, locked, and the moment. Raises JobLogError while a Fieldvoice works on the job.

    A finished job stays finished. Simulated time of an open job stands still meanwhile.
    """
    clock = Clock()
    with JobLog(folder, steady=clock.steady, boot=clock.boot) as log:
        job = fold_job(Job.of(JobState.empty(_NONE)), log.entries, lenient=True)
        restarted = go_on(clock, log)
        last = log.entries[-1].at if log.entries else clock.now()
        if job.finished:
            yield log, max(clock.now(), last)
        elif job.mode in SIMULATED:
            yield log, last
        else:
            if restarted is not None:
                _refuse_beside_timers(job, folder)
                log.append(restarted, clock.now())
            yield log, max(clock.now(), last)


def _refuse_beside_timers(job: Job, folder: Path) -> None:
    """After a restart the work itself must ask whether the clock is right, before all else."""
    if any(list(running(state.timers.values())) for state in job.states.values()):
        raise CommandError(
            f"this computer was restarted while a timer of {folder.name} ran: go on with the job "
            "first, so that its clock is settled, and review it then")
