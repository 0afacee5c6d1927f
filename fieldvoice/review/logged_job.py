"""A job read back from its log, for a reader; a damaged log or procedure is no hindrance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from fieldvoice.jobstate.events import Entry
from fieldvoice.jobstate.state import JobState, fold
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
    """The entries of a log, and the state that they are folded into."""

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


def read_job(entries: Sequence[Entry], procedure_text: str = "") -> LoggedJob:
    """The job of a log; what cannot be read of the log or the procedure is left out, never fatal.

    `procedure_text`: as kept with the job.
    """
    job = LoggedJob(entries, fold(JobState.empty(_NONE), entries, lenient=True))
    read = {r.quantity: r.si for r in job.state.readings if r.now.within is not False}
    try:
        procedure = parse(procedure_text).with_site(job.state.facts)
        answers = {b.step: b.option for b in job.state.branches}
        followed = following(procedure, read, job.site, {**job.state.facts, **answers},
                             job.state.facts.get("refrigerant"))
        return replace(job, state=replace(job.state, procedure=followed))
    except (ProcedureError, TradeError) as error:
        return replace(job, fault=str(error))
