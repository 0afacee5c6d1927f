"""The job log on disk: one folder a job, one line an event."""

from fieldvoice.devices.joblog.folders import LOG_NAME, job_folder, jobs_folder, list_jobs
from fieldvoice.devices.joblog.inside import clip_path, path_inside, read_inside
from fieldvoice.devices.joblog.lines import JobLogError, WriteRefused
from fieldvoice.devices.joblog.procedures import (
    doubted,
    procedure_faults,
    read_procedure,
    read_procedures,
    sealed_procedures,
)
from fieldvoice.devices.joblog.reading import Fault, LogRead, parse_log, read_log
from fieldvoice.devices.joblog.rescue import RescueFile, bring_back, rescues, waiting
from fieldvoice.devices.joblog.sealing import register_path
from fieldvoice.devices.joblog.skim import Skimmed, skim
from fieldvoice.devices.joblog.store import (
    DamagedLog,
    JobLog,
    held_by,
)
from fieldvoice.devices.joblog.untouched import LogDisturbed
from fieldvoice.devices.joblog.verifying import (
    WHAT_IS_PROVEN,
    GoneJob,
    Verified,
    gone_jobs,
    opening_faults,
    verify,
)

__all__ = [
    "LOG_NAME",
    "WHAT_IS_PROVEN",
    "DamagedLog",
    "Fault",
    "GoneJob",
    "JobLog",
    "JobLogError",
    "LogDisturbed",
    "LogRead",
    "RescueFile",
    "Skimmed",
    "Verified",
    "WriteRefused",
    "bring_back",
    "clip_path",
    "doubted",
    "gone_jobs",
    "held_by",
    "job_folder",
    "jobs_folder",
    "list_jobs",
    "opening_faults",
    "parse_log",
    "path_inside",
    "procedure_faults",
    "read_inside",
    "read_log",
    "read_procedure",
    "read_procedures",
    "register_path",
    "rescues",
    "sealed_procedures",
    "skim",
    "verify",
    "waiting",
]
