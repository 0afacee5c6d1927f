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
    logs = jobs_folder().glob(f"*/{LOG_NAME}")
    return [log.parent for log in sorted(logs, key=lambda log: log.stat().st_mtime)]
