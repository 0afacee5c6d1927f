"""What another job's log says of its tests, for a job that carries one over."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime

from fieldvoice.errors import FieldvoiceError


class NoSuchJob(FieldvoiceError):
    """The job cannot be used; the message says why, as it is said aloud."""


@dataclass(frozen=True)
class EarlierResult:
    """The last verdict of a kind in that job."""

    about: str  # "nitrogen", "decay"
    verdict: str
    at: datetime
    figures: Mapping[str, str]  # label -> value, as the report has them


@dataclass(frozen=True)
class EarlierJob:
    """A job as its log has it."""

    name: str
    log: str  # SHA-256 of its last line
    by: str = ""  # its technician, where that is known
    results: Mapping[str, EarlierResult] = field(default_factory=dict)  # by what was judged
    carried: tuple[str, ...] = ()  # what it had itself carried over from elsewhere
    facts: Mapping[str, str] = field(default_factory=dict)  # of the system and its place
    si: Mapping[str, float] = field(default_factory=dict)  # last readings of the nameplates


LookUp = Callable[[str], EarlierJob]  # by its name; raises NoSuchJob


def no_other_job(name: str) -> EarlierJob:
    """Where no other job can be read."""
    raise NoSuchJob(f"job {name} cannot be read from here")
