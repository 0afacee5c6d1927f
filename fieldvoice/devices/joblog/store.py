"""A job's folder on disk: an append-only log of events, the sound of each line, the procedure."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path
from types import TracebackType

from fieldvoice.devices.joblog.clips import save_clip
from fieldvoice.devices.joblog.folders import LOG_NAME
from fieldvoice.devices.joblog.lines import (
    JobLogError,
    LogRead,
    line_hash,
    parse_log,
    write_line,
)
from fieldvoice.devices.joblog.lock import HeldElsewhere, Lock
from fieldvoice.devices.joblog.lock import held_by as _held_by
from fieldvoice.devices.joblog.log_file import LogFile
from fieldvoice.devices.joblog.refusal import refusal
from fieldvoice.devices.whole_file import sync_folder
from fieldvoice.jobstate.events import Entry, Event

PROCEDURE_NAME = "procedure.txt"
MORE_PROCEDURES = "procedure-{}.txt"  # of units begun with another one: 2, 3, ...
_OWN = 0o700  # what customers said is nobody else's business


def read_log(folder: Path) -> LogRead:
    """Read a job's log without locking or changing it. Raises JobLogError."""
    path = folder / LOG_NAME
    try:
        raw = path.read_bytes()
    except FileNotFoundError:
        raise JobLogError(f"no job log at {path}; `fieldvoice jobs` lists the jobs") from None
    except OSError as error:
        raise JobLogError(f"cannot read {path}: {error.strerror}; check its permissions") from None
    return parse_log(raw, str(path))


def held_by(folder: Path) -> str | None:
    """The process that has the job open for writing now; None when none has."""
    return _held_by(folder / "lock")


def read_procedure(folder: Path) -> str:
    """The text of the procedure that a job was started with. Raises JobLogError."""
    path = folder / PROCEDURE_NAME
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise JobLogError(f"cannot read {path}: {error}; restore it from a copy") from None


def read_procedures(folder: Path) -> tuple[str, ...]:
    """The texts of all procedures that a job's units were begun with, the job's own first.

    Raises JobLogError.
    """
    more = sorted(folder.glob(MORE_PROCEDURES.format("*")), key=lambda path: (len(path.name), path))
    try:
        return (read_procedure(folder), *(path.read_text(encoding="utf-8") for path in more))
    except (OSError, UnicodeDecodeError) as error:
        raise JobLogError(f"cannot read the procedures in {folder}: {error}") from None


class JobLog:
    """A job's folder opened for writing by this process alone; use as a context manager."""

    def __init__(
        self, folder: Path, *, steady: Callable[[], float] = time.monotonic,
        boot: str | None = None,
    ) -> None:
        """Open a folder that holds a log, setting a torn last line aside. Raises JobLogError.

        `boot`: which start of the computer `steady` counts from.
        """
        self.folder = folder
        self._steady, self._boot = steady, boot
        self._lock = _take_lock(folder)
        try:
            found = read_log(folder)
            self.entries = found.entries  # as they were when the log was opened
            self.notices = found.notices
            self._last_hash = found.last_hash
            self.standing = found.standing  # of the steady clock, when the log was opened
            self._boot_told = None if found.standing is None else found.standing.boot
            self.next_seq = found.entries[-1].seq + 1 if found.entries else 1
            self._file = LogFile(folder)
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
        try:
            folder.mkdir(mode=_OWN, parents=True, exist_ok=True)
            (folder / "clips").mkdir(mode=_OWN, exist_ok=True)
            _write_durably(folder / PROCEDURE_NAME, procedure_text.encode("utf-8"))
            _write_durably(folder / LOG_NAME, b"")
            sync_folder(folder)
        except OSError as error:
            raise refusal(folder, error) from None
        return cls(folder, steady=steady, boot=boot)

    def keep_procedure(self, text: str) -> None:
        """Keep the text of another procedure, before a unit is begun with it."""
        number = 2
        while (path := self.folder / MORE_PROCEDURES.format(number)).exists():
            number += 1
        try:
            _write_durably(path, text.encode("utf-8"))
            sync_folder(self.folder)
        except OSError as error:
            raise refusal(self.folder, error) from None

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
        lines: list[bytes] = []
        last_hash, told = self._last_hash, self._boot_told
        for entry in entries:
            boot = {} if told == self._boot else {"boot": self._boot}
            lines.append(write_line(entry, self._steady(), last_hash, **boot))
            last_hash, told = line_hash(lines[-1]), self._boot
        self._file.append(b"".join(line + b"\n" for line in lines))
        self.next_seq += len(lines)
        self._last_hash, self._boot_told = last_hash, told

    def _set_aside(self, torn: bytes) -> None:
        """Move a torn last line into its own file: copied first, so that no byte is ever lost."""
        number = 1
        while (aside := self.folder / f"torn-{number}.txt").exists():
            number += 1
        _write_durably(aside, torn)
        self._file.cut_off(len(torn))
        self.notices += (f"the cut line was set aside in {aside}",)

    def save_clip(self, pcm: bytes) -> str:
        """Keep the sound of the next line (16 kHz mono int16); returns its path in the job."""
        return save_clip(self.folder, self.next_seq, pcm)

    def close(self) -> None:
        """Let another process write."""
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


def _take_lock(folder: Path) -> Lock:
    if not folder.is_dir():
        raise JobLogError(f"no job at {folder}; `fieldvoice jobs` lists the jobs")
    try:
        return Lock(folder / "lock")
    except OSError as error:
        raise refusal(folder, error) from None
    except HeldElsewhere as holder:
        raise JobLogError(
            f"{folder} is open in another Fieldvoice (process {holder}); "
            "finish there first, or name another job"
        ) from None


def _write_durably(path: Path, data: bytes) -> None:
    with path.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
