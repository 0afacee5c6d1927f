"""The procedures kept with a job: their texts, and whether they are those that it began with."""

from __future__ import annotations

import os
from collections.abc import Collection, Iterable
from functools import partial
from pathlib import Path

from fieldvoice.devices.free_name import first_free, made_free, numbered
from fieldvoice.devices.joblog import sealing
from fieldvoice.devices.joblog.inside import refuse_link
from fieldvoice.devices.joblog.lines import JobLogError
from fieldvoice.devices.joblog.reading import RESTORE, Fault
from fieldvoice.devices.whole_file import write_whole
from fieldvoice.jobstate.events import Entry, JobStarted

PROCEDURE_NAME = "procedure.txt"
MORE_PROCEDURES = "procedure-{}.txt"  # of units begun with another one: 2, 3, ...


def read_procedure(folder: Path) -> str:
    """The text of the procedure that a job was started with. Raises JobLogError."""
    path = folder / PROCEDURE_NAME
    refuse_link(path)
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise JobLogError(f"cannot read {path}: {error}; restore it from a copy") from None


def read_procedures(folder: Path) -> tuple[str, ...]:
    """The texts of all procedures that a job's units were begun with, the job's own first.

    Raises JobLogError.
    """
    more = sorted(folder.glob(MORE_PROCEDURES.format("*")), key=lambda path: (len(path.name), path))
    for path in more:
        refuse_link(path)
    try:
        return (read_procedure(folder), *(path.read_text(encoding="utf-8") for path in more))
    except (OSError, UnicodeDecodeError) as error:
        raise JobLogError(f"cannot read the procedures in {folder}: {error}") from None


def keep_procedure(folder: Path, text: str) -> str:
    """Write another procedure's text, whole or not at all; its file's name. Raises OSError."""
    write = partial(write_whole, data=text.encode("utf-8"), new=True)
    return made_free(folder, numbered(MORE_PROCEDURES, 2), write).name


def restore_procedure(folder: Path, text: str) -> list[str]:
    """Put the job's own procedure back; the name under which an altered one is kept aside.

    Raises OSError.
    """
    path, set_aside = folder / PROCEDURE_NAME, list[str]()
    if os.path.lexists(path):
        aside = first_free(folder, numbered("altered-procedure-{}.txt"))
        path.rename(aside)
        set_aside.append(aside.name)
    write_whole(path, text.encode("utf-8"))
    return set_aside


def doubted(faults: Iterable[Fault]) -> frozenset[int]:
    """Numbers of the lines that name a procedure, and were changed after they were written."""
    return frozenset(fault.begins for fault in faults if fault.begins is not None)


def procedure_faults(
    folder: Path, entries: Iterable[Entry], doubted: Collection[int] = ()
) -> list[Fault]:
    """Procedure texts that are not those which the job's sheets were begun with.

    What the lines `doubted` name proves nothing; what the job was sealed with is looked at anyway.
    """
    begun: dict[str, str] = {}
    for entry in entries:
        if isinstance(entry.event, JobStarted) and entry.seq not in doubted:
            begun.setdefault(entry.event.procedure_sha256, entry.event.procedure)
    kept = _hashes(folder)
    strange = [name for sha256, name in kept.items() if sha256 not in begun]
    told = [Fault(" or ".join(strange) or PROCEDURE_NAME,
                  f"is not the text of {name} that the job began with (SHA-256 {sha256[:12]}...)"
                  if strange else f"the text of {name} that the job began with is gone", RESTORE)
            for sha256, name in begun.items() if sha256 not in kept]
    return told + [Fault(name, "is not the text that the job was sealed with", RESTORE)
                   for name, sha256 in sealed_procedures(folder).items()
                   if sha256 not in kept and sha256 not in begun]


def _hashes(folder: Path) -> dict[str, str]:
    """The names of the procedures kept, by the SHA-256 of their texts."""
    kept: dict[str, str] = {}
    for path in sorted(folder.glob("procedure*.txt")):
        try:
            kept[sealing.file_hash(path)] = path.name
        except OSError as error:
            kept[path.name] = f"{path.name} ({error.strerror})"
    return kept


def sealed_procedures(folder: Path) -> dict[str, str]:
    """The procedures that a job was sealed with last, by their file's name: SHA-256 of the text.

    From the folder's own seal, else from the register outside; {} where neither tells.
    """
    try:
        seal = sealing.read_seal(folder)
    except sealing.SealBroken:
        seal = None
    known = [seal] if seal is not None else list(sealing.registered(folder))[-1:]
    return {kept.file: kept.sha256 for one in known for kept in one.procedures
            if kept.sha256}
