"""The job log on disk: one folder a job, one line an event."""

from .folders import LOG_NAME, job_folder, jobs_folder, list_jobs
from .lines import JobLogError, LogRead, parse_log
from .store import JobLog, read_log, read_procedure

__all__ = [
    "LOG_NAME",
    "JobLog",
    "JobLogError",
    "LogRead",
    "job_folder",
    "jobs_folder",
    "list_jobs",
    "parse_log",
    "read_log",
    "read_procedure",
]
