"""The procedure that a job was begun with: work goes on with that text and no other."""

from __future__ import annotations

from collections.abc import Mapping

from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.devices.joblog import (
    Fault,
    JobLog,
    doubted,
    procedure_faults,
    sealed_procedures,
)
from fieldvoice.jobstate.events import JobStarted
from fieldvoice.procedure.model import Procedure

_DOUBT = Fault("the procedure", "may be another one than the job began with: the line that names "
               "it was changed, and no seal tells")


def check_procedures(log: JobLog, asked: Procedure | None, *, mend: bool) -> None:
    """Raise CommandError where a procedure kept with the job is not the one that it began with.

    `asked`: the procedure that work was asked to go on with; `mend`: where that is the text that
    the job began with, it is put back, and the altered one kept aside. Where nothing proves any
    more which one it began with, that is among the log's faults, which are logged and said.
    """
    sealed = sealed_procedures(log.folder)
    faults = _faults(log)
    if faults and mend and asked is not None and asked.sha256 in _proven(log, sealed):
        log.restore_procedure(asked.text)
        log.faults += tuple(faults)
        faults = _faults(log)
    if not faults:
        if doubted(log.faults) and not sealed:
            log.faults += (_DOUBT,)
        return
    raise CommandError(
        f"{log.folder}: {faults[0]}; its limits may be other ones, so work does not go on with it. "
        "Bring it back from a copy; where the procedure you name has the text that the job began "
        "with, --mend puts that back")


def _faults(log: JobLog) -> list[Fault]:
    return procedure_faults(log.folder, log.entries, doubted((*log.faults, *log.mended)))


def _proven(log: JobLog, sealed: Mapping[str, str]) -> set[str]:
    """Hashes of texts that the job surely began with."""
    changed = doubted((*log.faults, *log.mended))
    return {*sealed.values(), *(
        entry.event.procedure_sha256 for entry in log.entries
        if isinstance(entry.event, JobStarted) and entry.seq not in changed)}
