"""Another job's tests, read from its log by its name."""

from __future__ import annotations

import os

from fieldvoice.devices.joblog import LOG_NAME, JobLogError, job_folder, read_log, read_procedure
from fieldvoice.devices.joblog.verifying import opening_faults
from fieldvoice.jobstate.earlier_job import EarlierJob, EarlierResult, NoSuchJob
from fieldvoice.jobstate.events import SIMULATED, WORK
from fieldvoice.jobstate.records import Result
from fieldvoice.review import figures
from fieldvoice.review.logged_job import LoggedJob, read_job
from fieldvoice.review.wording import said_value

# what tells one system and its place from another
_FACTS = ("refrigerant", "refrigerant-class", "customer", "address", "equipment", "job-place")
_PLATE = ("design-pressure", "refrigerant-amount")
_TESTS = ("nitrogen", "decay")
_MOST_FIGURES = 8  # that are kept with the test
_SHORT = 40  # characters of a figure that is


def look_up(name: str, mode: str = WORK) -> EarlierJob:
    """The job of that name, where its log is whole. Raises NoSuchJob.

    `mode`: of the job that asks; real work takes nothing from a job in simulated time.
    """
    separators = (os.sep, os.altsep or os.sep)
    if not name or name.startswith(".") or any(sign in name for sign in separators):
        raise NoSuchJob(f"{name} is no name of a job")
    try:
        folder = job_folder(name)
        if not (folder / LOG_NAME).is_file():
            raise NoSuchJob(f"there is no job {name}")
        read = read_log(folder)
        job = read_job(read.entries, read_procedure(folder))
    except (JobLogError, OSError, UnicodeError):
        raise NoSuchJob(f"the log of job {name} cannot be read") from None
    if read.broken or opening_faults(folder, read):
        raise NoSuchJob(f"the log of job {name} was changed by hand")
    if mode not in SIMULATED and job.state.mode in SIMULATED:
        raise NoSuchJob(f"job {name} ran in simulated time: nothing was measured in it")
    return _earlier(name, read.last_hash, job)


def _earlier(name: str, log: str, job: LoggedJob) -> EarlierJob:
    state = job.state
    newest = {r.about: r for r in state.results if r.about in _TESTS}
    facts = {fact: told for fact in _FACTS if (told := state.answer(fact)) is not None}
    plates = {q: last.si for q in _PLATE if (last := state.last_good(q)) is not None}
    return EarlierJob(
        name, log, state.facts.get("technician", ""),
        {about: _result(job, result) for about, result in newest.items()},
        tuple(t.about for t in state.tests_carried), facts, plates)


def _result(job: LoggedJob, result: Result) -> EarlierResult:
    """The verdict with how the hold began and ended, and its figures that are short."""
    held = [r for r in job.state.readings if r.hold == result.step and r.seq < result.seq]
    found = {} if not held else {
        "began at": said_value(held[0].now), "ended at": said_value(held[-1].now),
        "held": f"{held[-1].minute or 0:g} min"}
    rows = [(label, value) for label, value in
            figures.rows(result.figures, job.site.atmosphere_pa) if len(value) <= _SHORT]
    found |= {label.lower(): value for label, value in rows[:_MOST_FIGURES]}
    return EarlierResult(result.about, result.verdict, result.at, found)
