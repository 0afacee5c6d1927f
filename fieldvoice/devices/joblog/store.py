"""A job's folder on disk: an append-only log of events, the sound of each line, the procedure."""

from __future__ import annotations

import hashlib
import time
from collections.abc import Callable, Sequence
from datetime import datetime
from functools import partial
from pathlib import Path
from types import TracebackType

from fieldvoice.devices.free_name import made_free, numbered
from fieldvoice.devices.joblog.clips import save_clip
from fieldvoice.devices.joblog.folders import LOG_NAME
from fieldvoice.devices.joblog.inside import refuse_link
from fieldvoice.devices.joblog.lines import JobLogError, write_turn
from fieldvoice.devices.joblog.lock import HeldElsewhere, Lock
from fieldvoice.devices.joblog.lock import held_by as _held_by
from fieldvoice.devices.joblog.log_file import LogFile
from fieldvoice.devices.joblog.procedures import (
    PROCEDURE_NAME,
    keep_procedure,
    restore_procedure,
)
from fieldvoice.devices.joblog.reading import Fault, read_log
from fieldvoice.devices.joblog.refusal import refusal
from fieldvoice.devices.joblog.sealed_work import SealedWork, seal_new, set_aside_seal
from fieldvoice.devices.joblog.verifying import newest_registered, opening_faults, refuse_traces
from fieldvoice.devices.whole_file import write_whole
from fieldvoice.jobstate.events import Clip, Entry, Event, JobStarted, LogMended

_MOST_FAULTS = 20  # that a mend tells in words
_OWN = 0o700  # what customers said is nobody else's business


def held_by(folder: Path) -> str | None:
    """The process that has the job open for writing now; None when none has."""
    return _held_by(folder / "lock")


class DamagedLog(JobLogError):
    """Something of the job is not as it was written: nothing more is written until it is mended."""

    def __init__(self, folder: Path, faults: Sequence[Fault]) -> None:
        first = faults[0]
        more = f" and {len(faults) - 1:,} more" if len(faults) > 1 else ""
        super().__init__(f"{folder / LOG_NAME}, {first}{more}; {first.what_to_do}. "
                         "`fieldvoice log verify` lists all that is wrong")
        self.faults = tuple(faults)


class JobLog:
    """A job's folder opened for writing by this process alone; use as a context manager."""

    def __init__(
        self, folder: Path, *, steady: Callable[[], float] = time.monotonic,
        boot: str | None = None, mend: bool = False,
    ) -> None:
        """Open a folder that holds a log, setting a torn last turn aside. Raises JobLogError.

        `boot`: which start of the computer `steady` counts from.
        `mend`: a damaged log is opened all the same; `mending` must be the first event appended.
        """
        self.folder = folder
        self._steady, self._boot = steady, boot
        self._lock = _take_lock(folder)
        try:
            found = read_log(folder)
            faults = (*found.faults, *opening_faults(folder, found))
            if faults and not (mend and not any(fault.newer for fault in faults)):
                raise DamagedLog(folder, faults)
            self.faults, self.mended = faults, found.mended
            self.entries = found.entries  # as they were when the log was opened
            self.notices = found.notices
            self._last_hash = found.last_hash
            self.standing = found.standing  # of the steady clock, when the log was opened
            self._boot_told = None if found.standing is None else found.standing.boot
            self.next_seq = found.next_seq
            self.job = found.job or _begun_as(found.entries) or _name(folder)
            self._seals = SealedWork(folder, found, self.job)
            self._file = LogFile(folder, self._lock)
            self.aside: list[str] = []  # files that took what did not fit
            if faults and (old := set_aside_seal(folder)):
                self.aside.append(old)
            if found.torn:
                self._set_aside(found.torn)
        except OSError as error:
            self._lock.release()
            raise refusal(folder, error) from None
        except JobLogError:
            self._lock.release()
            raise

    @classmethod
    def create(
        cls, folder: Path, procedure_text: str, *, steady: Callable[[], float] = time.monotonic,
        boot: str | None = None,
    ) -> JobLog:
        """Make a new job's folder. Raises JobLogError when it holds a job or cannot be made."""
        if (folder / LOG_NAME).exists():
            raise JobLogError(f"{folder} holds a job already; name another, or resume this one")
        refuse_traces(folder, procedure_text)
        gone = newest_registered(folder)
        try:
            folder.mkdir(mode=_OWN, parents=True, exist_ok=True)
            refuse_link(folder / "clips")
            (folder / "clips").mkdir(mode=_OWN, exist_ok=True)
            write_whole(folder / PROCEDURE_NAME, procedure_text.encode("utf-8"))
            write_whole(folder / LOG_NAME, b"")
            unsealed = seal_new(folder, _name(folder))
        except OSError as error:
            raise refusal(folder, error) from None
        log = cls(folder, steady=steady, boot=boot)
        log._seals.begun(unsealed)
        if gone is not None:
            log.notices += (f"{gone}; another job begins in its place",)
        return log

    def mending(self) -> LogMended | None:
        """The event to append first where a damaged log is gone on with. Raises JobLogError."""
        if not self.faults:
            return None
        try:
            before = (self.folder / LOG_NAME).read_bytes()
        except OSError as error:
            raise refusal(self.folder, error) from None
        return LogMended(
            [f"{fault.where}: {fault.what}" for fault in self.faults[:_MOST_FAULTS]],
            [v.line for v in self.faults if v.line is not None and not v.counts],
            len(before), hashlib.sha256(before).hexdigest(), list(self.aside),
            self._seals.strange())

    def restore_procedure(self, text: str) -> None:
        """Put the job's own procedure back; the altered one is kept aside. Raises JobLogError."""
        try:
            self.aside += restore_procedure(self.folder, text)
        except OSError as error:
            raise refusal(self.folder, error) from None
        self._seals.procedure_kept(PROCEDURE_NAME)

    def keep_procedure(self, text: str) -> None:
        """Keep the text of another procedure, before a unit is begun with it.

        Raises WriteRefused; nothing half written is left then.
        """
        try:
            name = keep_procedure(self.folder, text)
        except OSError as error:
            raise refusal(self.folder, error) from None
        self._seals.procedure_kept(name)

    def append(self, event: Event, at: datetime, unit: str | None = None) -> Entry:
        """Write one event; it is on disk when this returns. `at` must carry an offset from UTC.

        `unit`: the one that it belongs to; None: the job's first.

        Raises JobLogError when the disk refuses; the log then ends as it did before.
        """
        if at.tzinfo is None:
            raise ValueError("the time of an event must carry its offset from UTC")
        entry = Entry(self.next_seq, at, event, unit)
        self.append_all([entry])
        return entry

    def append_all(self, entries: Sequence[Entry]) -> None:
        """Write the entries of a turn: all of them are on disk when this returns, or none.

        Their numbers must follow. Raises JobLogError as `append` does.
        """
        if [entry.seq for entry in entries] != [self.next_seq + n for n in range(len(entries))]:
            raise ValueError(f"events {[v.seq for v in entries]} where {self.next_seq} is due")
        if not entries:
            return
        lines, last_hash = write_turn(
            entries, self._steady, self._last_hash, self.job, self._boot, self._boot_told)
        self._file.append(b"".join(line + b"\n" for line in lines))
        self.next_seq += len(lines)
        self._last_hash, self._boot_told = last_hash, self._boot
        self._seals.logged(entries, last_hash, self._file)

    def _set_aside(self, torn: bytes) -> None:
        """Move a torn last line into its own file: copied first, so that no byte is ever lost."""
        aside = made_free(self.folder, numbered("torn-{}.txt"),
                          partial(write_whole, data=torn, new=True))
        self._file.cut_off(len(torn))
        self.notices += (f"the cut line was set aside in {aside}",)
        self.aside.append(aside.name)

    def save_clip(self, pcm: bytes) -> Clip:
        """Keep the sound of the next line (16 kHz mono int16); returns where, and what proves it.
        """
        clip = save_clip(self.folder, self.next_seq, pcm)
        self._seals.clips.saved(clip)
        return clip

    @property
    def unsealed(self) -> str:
        """Why the last seal could not be written; "" where it was."""
        return self._seals.unsealed

    @property
    def file(self) -> LogFile:
        """The log itself: whether its lines are written, or wait and where."""
        return self._file

    def close(self) -> None:
        """Seal what was written, and let another process write."""
        self._seals.stop(self._file, damaged=bool(self.faults))
        self.let_go()

    def let_go(self) -> None:
        """Let another process write; nothing is sealed, where work was refused."""
        self._file.close()
        self._lock.release()

    def __enter__(self) -> JobLog:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()


def _begun_as(entries: Sequence[Entry]) -> str:
    """The name that a job began with, before its lines carried it; "" where none is told."""
    return next((v.event.job for v in entries if isinstance(v.event, JobStarted)), "")


def _name(folder: Path) -> str:
    return folder.resolve().name.encode("utf-8", "replace").decode("utf-8")


def _take_lock(folder: Path) -> Lock:
    if not folder.is_dir():
        raise JobLogError(f"no job at {folder}; `fieldvoice jobs` lists the jobs")
    refuse_link(folder / "lock")
    try:
        return Lock(folder / "lock")
    except OSError as error:
        raise refusal(folder, error) from None
    except HeldElsewhere as holder:
        raise JobLogError(
            f"{folder} is open in another Fieldvoice (process {holder}); "
            "finish there first, or name another job"
        ) from None
