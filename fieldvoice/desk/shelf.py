"""The jobs that can be looked at: names of folders, checked before a path is made of them."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from fieldvoice.desk.errors import NoSuchJob
from fieldvoice.devices.joblog import LOG_NAME


class Shelf:
    """Folders of jobs in one folder, and one that may lie elsewhere."""

    def __init__(self, jobs: Path, also: Path | None = None) -> None:
        self.jobs = jobs
        self._also = None if also is None else also.resolve()

    def names(self) -> list[str]:
        """All jobs, the one written to last in front."""
        found = [self._also] if self._also is not None else []
        if self.jobs.is_dir():
            found += [path for path in self.jobs.iterdir() if path.name != self._own]
        logs = [(log.st_mtime, path.name) for path in found if (log := _log_of(path)) is not None]
        return [name for _, name in sorted(logs, reverse=True)]

    def folder(self, name: str) -> Path:
        """The folder of a job. Raises NoSuchJob."""
        plain = name not in ("", ".", "..") and not set(name) & set('/\\\0:')
        path = self._also if name == self._own and self._also is not None else self.jobs / name
        if not plain or _log_of(path) is None:
            raise NoSuchJob("There is no job of that name here. The list has those there are.")
        return path

    @property
    def _own(self) -> str:
        return "" if self._also is None else self._also.name


def _log_of(folder: Path) -> os.stat_result | None:
    """What the system tells of a job's log; None: no plain folder with a plain file of that name.

    Links are not followed: they could lead anywhere.
    """
    try:
        inside = folder.lstat(), (folder / LOG_NAME).lstat()
    except OSError:
        return None
    plain = stat.S_ISDIR(inside[0].st_mode) and stat.S_ISREG(inside[1].st_mode)
    return inside[1] if plain else None
