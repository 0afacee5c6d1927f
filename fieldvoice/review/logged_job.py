"""A job read back from its log, for a reader; a damaged log or procedure is no hindrance."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from fieldvoice.jobstate.events import Entry
from fieldvoice.jobstate.job import FIRST, Job, fold_job, unit_of
from fieldvoice.jobstate.state import JobState
from fieldvoice.jobstate.unit_names import called
from fieldvoice.procedure.derived_limits import following
from fieldvoice.procedure.model import Procedure
from fieldvoice.procedure.reader import parse
from fieldvoice.procedure.settings import ProcedureError
from fieldvoice.quantity.errors import ReadingError
from fieldvoice.quantity.site import Site
from fieldvoice.trade.errors import TradeError

_NONE = Procedure(name="", title="", text="")  # steps keep their names without one


@dataclass(frozen=True)
class LoggedJob:
    """The entries of a unit in a log, and the state that they are folded into."""

    entries: Sequence[Entry]
    state: JobState  # its procedure has the limits that site and readings set
    fault: str = ""  # why the procedure cannot be read; there is none in the state then

    @property
    def site(self) -> Site:
        """The site as the job was told of it; the standard one where that cannot be read."""
        try:
            return self.state.site
        except ReadingError:
            return Site()


@dataclass(frozen=True)
class LoggedUnits:
    """A job read back, unit by unit."""

    entries: Sequence[Entry]
    units: Mapping[str, LoggedJob]  # by what they are called, in the order of their beginning

    @property
    def first(self) -> LoggedJob:
        """The unit that the job began with."""
        return next(iter(self.units.values()))

    @property
    def several(self) -> bool:
        """More than one unit."""
        return len(self.units) > 1


def read_job(entries: Sequence[Entry], procedure_text: str = "") -> LoggedJob:
    """The job of a log of one unit, or the first unit of one of several."""
    return read_units(entries, [procedure_text]).first


def read_units(entries: Sequence[Entry], procedure_texts: Sequence[str] = ("",)) -> LoggedUnits:
    """Every unit of a log; what cannot be read of log or procedures is left out, never fatal.

    `procedure_texts`: as kept with the job, the first unit's in front.
    """
    job = fold_job(Job.of(JobState.empty(_NONE)), entries, lenient=True)
    by_hash = {hashlib.sha256(text.encode()).hexdigest(): text for text in procedure_texts}
    found: dict[str, LoggedJob] = {}
    for unit, state in job.states.items():
        started = state.history.started
        text = by_hash.get(started.procedure_sha256 if started else "", "")
        own = [entry for entry in entries if unit_of(entry) == unit] if job.several else entries
        found[called(job, unit)] = _with_procedure(
            LoggedJob(own, state), procedure_texts[0] if unit == FIRST else text)
    return LoggedUnits(entries, found)


def _with_procedure(job: LoggedJob, procedure_text: str) -> LoggedJob:
    read = {r.quantity: r.si for r in job.state.readings if r.now.within is not False}
    try:
        procedure = parse(procedure_text).with_site(job.state.facts)
        answers = {b.step: b.option for b in job.state.branches}
        followed = following(procedure, read, job.site, {**job.state.facts, **answers},
                             job.state.facts.get("refrigerant"))
        return replace(job, state=replace(job.state, procedure=followed))
    except (ProcedureError, TradeError) as error:
        return replace(job, fault=str(error))
