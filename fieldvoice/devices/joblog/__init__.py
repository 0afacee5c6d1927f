"""The job log on disk: one folder a job, one line an event."""

from fieldvoice.devices.joblog.folders import LOG_NAME, job_folder, jobs_folder, list_jobs
from fieldvoice.devices.joblog.inside import clip_path, path_inside, read_inside
from fieldvoice.devices.joblog.lines import JobLogError, LogRead, WriteRefused, parse_log
from fieldvoice.devices.joblog.store import (
    JobLog,
    held_by,
    read_log,
    read_procedure,
    read_procedures,
)

__all__ = [
    "LOG_NAME",
    "JobLog",
    "JobLogError",
    "LogRead",
    "WriteRefused",
    "clip_path",
    "held_by",
    "job_folder",
    "jobs_folder",
    "list_jobs",
    "parse_log",
    "path_inside",
    "read_inside",
    "read_log",
    "read_procedure",
    "read_procedures",
]
