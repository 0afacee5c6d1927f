"""The procedure that a job was begun with: work goes on with that text and no other."""

from __future__ import annotations

from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.devices.joblog import JobLog, procedure_faults
from fieldvoice.jobstate.events import JobStarted
from fieldvoice.procedure.model import Procedure


def check_procedures(log: JobLog, asked: Procedure | None, *, mend: bool) -> None:
    """Raise CommandError where a procedure kept with the job is not the one that it began with.

    `asked`: the procedure that work was asked to go on with; `mend`: where that is the text that
    the job began with, it is put back, and the altered one kept aside.
    """
    faults = procedure_faults(log.folder, log.entries)
    if faults and mend and asked is not None and asked.sha256 in _begun(log):
        log.restore_procedure(asked.text)
        log.faults += tuple(faults)
        faults = procedure_faults(log.folder, log.entries)
    doubtful = any(fault.counts and fault.line is not None for fault in log.faults)
    if not faults or (mend and doubtful):  # the line that names it was changed, not the text
        return
    raise CommandError(
        f"{log.folder}: {faults[0]}; its limits may be other ones, so work does not go on with it. "
        "Bring it back from a copy; where the procedure you name has the text that the job began "
        "with, --mend puts that back")


def _begun(log: JobLog) -> set[str]:
    return {entry.event.procedure_sha256 for entry in log.entries
            if isinstance(entry.event, JobStarted)}
