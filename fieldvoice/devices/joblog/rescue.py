"""A copy of a log that could not be written, with the lines that it lacks, outside its folder."""

from __future__ import annotations

import contextlib
import glob
import os
import stat
import tempfile
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from platformdirs import user_data_path

from fieldvoice.devices.joblog.folders import LOG_NAME
from fieldvoice.devices.joblog.inside import refuse_link
from fieldvoice.devices.joblog.lines import JobLogError
from fieldvoice.devices.joblog.lock import HeldElsewhere, Lock
from fieldvoice.devices.whole_file import write_whole
from fieldvoice.quantity.counted import counted

_TEMPORARY = "fieldvoice-rescue-"


def rescue_folder() -> Path:
    """Where rescue files lie, beside the jobs folder, as long as that can be written."""
    return user_data_path("fieldvoice", appauthor=False) / "rescue"


class RescueFile:
    """One for a run of the program, made when it is first needed: JOB-TIME.jsonl.

    It is a whole log: that of the job as it was written, then the lines that wait.
    """

    def __init__(self, job: str, at: datetime) -> None:
        self._name = f"{job[:150]}-{at:%Y-%m-%d-%H%M%S}-{os.getpid()}.jsonl"
        self._kept = b""
        self.path: Path | None = None  # None: there is none, or no disk takes it

    def keep(self, log: bytes) -> None:
        """Keep these bytes instead of what was kept before; `path` tells whether a disk took it."""
        if self.path is not None and log == self._kept:
            return
        if self.path is not None and log.startswith(self._kept) and self._added(log):
            return
        before, self.path = self.path, None
        for place in _places(before):
            with contextlib.suppress(OSError):
                write_whole(place / self._name, log, mode=0o600)
                self.path, self._kept = place / self._name, log
                return

    def _added(self, log: bytes) -> bool:
        assert self.path is not None
        try:
            fd = os.open(self.path, os.O_WRONLY | os.O_APPEND | getattr(os, "O_NOFOLLOW", 0))
            with open(fd, "ab") as file:
                if os.fstat(fd).st_size != len(self._kept):
                    return False
                file.write(log[len(self._kept) :])
                file.flush()
                os.fsync(fd)
        except OSError:
            return False
        self._kept = log
        return True

    def discard(self) -> None:
        """All of it is in the log now."""
        if self.path is not None:
            with contextlib.suppress(OSError):
                self.path.unlink()
        self.path, self._kept = None, b""


def _places(before: Path | None) -> Iterator[Path]:
    """Folders to try: what took it before, beside the jobs, then another disk, maybe memory."""
    if before is not None:
        yield before.parent
    with contextlib.suppress(OSError):
        rescue_folder().mkdir(mode=0o700, parents=True, exist_ok=True)
        yield rescue_folder()
    with contextlib.suppress(OSError):
        yield Path(tempfile.mkdtemp(prefix=_TEMPORARY))


def rescues(folder: Path) -> list[Path]:
    """Rescue files of the job in a folder, the oldest first; what others put there is none."""
    job = glob.escape(folder.name[:150])
    found = [*rescue_folder().glob(f"{job}-*.jsonl"),
             *Path(tempfile.gettempdir()).glob(f"{_TEMPORARY}*/{job}-*.jsonl")]
    ours = [path for path in found if _is_ours(path)]
    log = _read(folder / LOG_NAME)
    return sorted((path for path in ours if _same_job(log, _read(path))),
                  key=lambda path: path.stat().st_mtime)


def waiting(folder: Path) -> list[str]:
    """What is to be known of lines of a job that lie in rescue files, and not in its log."""
    told = []
    log = _read(folder / LOG_NAME)
    for path in rescues(folder):
        whole = _read(path)
        whole = whole[: whole.rfind(b"\n") + 1]
        if log.startswith(whole):
            continue
        more = whole[len(log) :].count(b"\n") if whole.startswith(log) else 0
        lines = counted(more, "line that was kept aside waits", "lines that were kept aside wait")
        told.append(f"{lines} in {path}; `fieldvoice work` puts what was kept into the log when "
                    "it opens the job" if more else
                    f"lines that were kept aside lie in {path}, and the log is not what they "
                    "follow: keep both files, and compare them")
    return told


def _is_ours(path: Path) -> bool:
    try:
        status = path.lstat()
    except OSError:
        return False
    own = not hasattr(os, "getuid") or status.st_uid == os.getuid()
    return stat.S_ISREG(status.st_mode) and status.st_nlink == 1 and own


def _same_job(log: bytes, rescued: bytes) -> bool:
    """Both begin with one line, which carries the job's first moment; or no log is left."""
    return not log or log.partition(b"\n")[0] == rescued.partition(b"\n")[0]


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError:
        return b""


def bring_back(folder: Path) -> tuple[str, ...]:
    """Add to a job's log the lines that rescue files have beyond it; what is to be told of them.

    Only where the log is the beginning of the rescue file, byte for byte; such a file is renamed
    then and stays. Nothing is brought back while another process holds the job.
    """
    found = rescues(folder) if folder.is_dir() else []
    if not found:
        return ()
    try:
        refuse_link(folder / "lock")
        lock = Lock(folder / "lock")
    except (HeldElsewhere, OSError, JobLogError):
        return ()  # opening the job tells
    try:
        return tuple(_brought_back(folder, path) for path in found)
    finally:
        lock.release()


def _brought_back(folder: Path, rescued: Path) -> str:
    try:
        refuse_link(folder / LOG_NAME)
        log, whole = _read(folder / LOG_NAME), rescued.read_bytes()
        whole = whole[: whole.rfind(b"\n") + 1]
        if not whole.startswith(log):
            if log.startswith(whole):
                return _done(rescued, f"All lines of {rescued} are in the log.")
            return (f"{rescued} holds lines of this job that were kept aside, but the log is not "
                    "what they follow: compare both, `fieldvoice log` shows them; both are kept")
        write_whole(folder / LOG_NAME, whole, mode=0o600)
        more = whole[len(log) :].count(b"\n")
        return _done(rescued, f"{counted(more, 'line that was', 'lines that were')} kept aside in "
                              f"{rescued} {'is' if more == 1 else 'are'} back in the log")
    except (OSError, JobLogError) as error:
        return f"the lines kept aside in {rescued} cannot be brought back: {error}"


def _done(rescued: Path, told: str) -> str:
    rescued.rename(rescued.with_suffix(".brought-back"))
    return told
