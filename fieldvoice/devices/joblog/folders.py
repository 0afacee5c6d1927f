"""Where the folders of jobs are."""

from __future__ import annotations

import os
from pathlib import Path

from platformdirs import user_data_path

from fieldvoice.devices.joblog.lines import JobLogError

LOG_NAME = "log.jsonl"


def jobs_folder() -> Path:
    """Where jobs live unless a path is given: fieldvoice/jobs where the system keeps data.

    That is $XDG_DATA_HOME, or ~/.local/share without it; the same variable on macOS, there else
    ~/Library/Application Support; on Windows %LOCALAPPDATA%.
    """
    return user_data_path("fieldvoice", appauthor=False) / "jobs"


def job_folder(name_or_path: str) -> Path:
    """The folder of a job: a bare name lies under jobs_folder(), one with a slash is a path."""
    if not name_or_path.strip() or name_or_path in {".", ".."}:
        raise JobLogError(f"{name_or_path!r} is not a name for a job; use a name like 'unit-12b'")
    if os.sep in name_or_path or (os.altsep and os.altsep in name_or_path):
        return Path(name_or_path).expanduser()
    return jobs_folder() / name_or_path


def list_jobs() -> list[Path]:
    """Folders of all jobs under jobs_folder(), oldest first."""
    try:
        logs = [folder / LOG_NAME for folder in jobs_folder().iterdir()]
    except (FileNotFoundError, NotADirectoryError):
        return []
    changed = {log: at for log in logs if (at := _changed(log)) is not None}
    return [log.parent for log in sorted(changed, key=changed.__getitem__)]


def _changed(log: Path) -> float | None:
    """When a log was written last; None where there is none. A link counts as it is."""
    try:
        return log.lstat().st_mtime
    except OSError:
        return None
