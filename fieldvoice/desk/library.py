"""Jobs read back from their logs, kept as long as their files are as they were."""

from __future__ import annotations

import os
from collections import OrderedDict
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from pathlib import Path
from threading import RLock

from fieldvoice.desk.errors import DeskError
from fieldvoice.desk.shelf import Shelf
from fieldvoice.devices.joblog import LOG_NAME, held_by, read_log, read_procedures
from fieldvoice.errors import FieldvoiceError
from fieldvoice.jobstate.events import WORK, Entry, FactTold, JobStarted, LineHeard
from fieldvoice.jobstate.job import FIRST, unit_of
from fieldvoice.review.job_standing import in_words, job_standing, short_time
from fieldvoice.review.logged_job import LoggedJob, LoggedUnits, read_units

_MOST_KEPT = 12  # jobs as a whole; of all others only what the list shows
Signature = tuple[int, int, int]


@dataclass(frozen=True)
class ReadJob:
    """A job as its log has it now."""

    name: str
    folder: Path
    entries: tuple[Entry, ...]
    notices: tuple[str, ...]  # what is wrong with the log
    units: LoggedUnits
    fault: str = ""  # why the procedures cannot be read

    @cached_property
    def by_seq(self) -> dict[int, Entry]:
        """The entries by their numbers."""
        return {entry.seq: entry for entry in self.entries}

    @cached_property
    def of_unit(self) -> dict[str, LoggedJob]:
        """Each unit's job, by the name that the log's lines carry."""
        raw = list(dict.fromkeys([FIRST, *map(unit_of, self.entries)]))
        return dict(zip(raw, self.units.units.values(), strict=False))

    @cached_property
    def called(self) -> dict[str, str]:
        """What each unit is called, by the name that the log's lines carry."""
        return dict(zip(self.of_unit, self.units.units, strict=False))

    @cached_property
    def clips(self) -> frozenset[str]:
        """The sounds that the log names; nothing else of the folder is served."""
        heard = (e.event.clip for e in self.entries if isinstance(e.event, LineHeard))
        return frozenset(clip for clip in heard if clip)

    @property
    def place(self) -> str:
        """Where it was, as told."""
        return self.units.first.state.facts.get("place", "")

    @property
    def title(self) -> str:
        """The place, or the job's name where none was told."""
        return self.place or self.name

    def job_of(self, entry: Entry) -> LoggedJob:
        """The unit's job that an entry belongs to."""
        return self.of_unit.get(unit_of(entry), self.units.first)


@dataclass(frozen=True)
class Summary:
    """What the list shows of a job."""

    name: str
    place: str = ""
    about: str = ""  # customer, unit, technician: what is searched beside the rest
    procedure: str = ""
    began: datetime | None = None
    last: str = ""
    mode: str = ""
    words: str = ""  # how it stands
    events: int = 0
    trouble: str = ""  # why it cannot be read, or what is wrong with it

    def fits(self, words: str) -> bool:
        """Whether every word asked for stands in it."""
        text = f"{self.name} {self.place} {self.about} {self.procedure} {self.words}".casefold()
        return all(word in text for word in words.casefold().split())


@dataclass
class Library:
    """All jobs of a shelf; safe to be asked by several threads."""

    shelf: Shelf
    _jobs: OrderedDict[str, tuple[Signature, ReadJob]] = field(default_factory=OrderedDict)
    _summaries: dict[str, tuple[Signature, Summary]] = field(default_factory=dict)
    _lock: RLock = field(default_factory=RLock)

    def job(self, name: str) -> ReadJob:
        """A job read whole. Raises NoSuchJob, JobLogError or DeskError."""
        folder = self.shelf.folder(name)
        with self._lock:
            signature = _signature(folder)
            kept = self._jobs.get(name)
            if kept is None or kept[0] != signature:
                self._jobs[name] = kept = signature, _read(name, folder)
            self._jobs.move_to_end(name)
            while len(self._jobs) > _MOST_KEPT:
                self._jobs.popitem(last=False)
            return kept[1]

    def summary(self, name: str, now: datetime) -> Summary:
        """What the list shows of a job; one that cannot be read stands there with the reason."""
        try:
            folder = self.shelf.folder(name)
            signature = _signature(folder)
            kept = self._summaries.get(name)
            if kept is None or kept[0] != signature:
                self._summaries[name] = kept = signature, _summary(name, folder, now)
            return kept[1]
        except FieldvoiceError as error:
            return Summary(name, trouble=str(error))
        except Exception as error:  # a damaged log hides no other job, whatever it holds
            return Summary(name, trouble=f"its log cannot be read: {error}")


def _signature(folder: Path) -> Signature:
    found = os.stat(folder / LOG_NAME)
    return found.st_ino, found.st_size, found.st_mtime_ns


def _read(name: str, folder: Path) -> ReadJob:
    try:
        found = read_log(folder)
        kept, fault = _procedures(folder)
        units = read_units(found.entries, kept)
    except FieldvoiceError:
        raise
    except Exception as error:  # of a damaged log; what it may hold has no end
        raise DeskError(f"The log of {name} cannot be read: {error}. "
                        f"`fieldvoice log verify {name}` says where.") from error
    return ReadJob(name, folder, tuple(found.entries), found.notices, units, fault)


def _procedures(folder: Path) -> tuple[tuple[str, ...], str]:
    try:
        return read_procedures(folder), ""
    except FieldvoiceError as error:
        return ("",), str(error)


def _summary(name: str, folder: Path, now: datetime) -> Summary:
    read = read_log(folder)
    found = job_standing(read.entries, now)
    facts = _facts(read.entries)
    holder = held_by(folder)
    about = " ".join(facts.get(fact, "") for fact in ("customer", "unit", "technician", "shop"))
    last = "" if found.last_at is None else short_time(found.last_at, now)
    at_work = f"at work in process {holder}" if holder else in_words(found, now)
    return Summary(
        name, facts.get("place", ""), about, found.procedure, found.started, last,
        "" if found.mode == WORK else found.mode, at_work, len(read.entries),
        "; ".join(read.notices))


def _facts(entries: tuple[Entry, ...]) -> dict[str, str]:
    """Place and people, as told first or later; what was taken back does not matter to a list."""
    found: dict[str, str] = {}
    for entry in entries:
        if isinstance(entry.event, JobStarted):
            found = {**entry.event.site, **found}
        elif isinstance(entry.event, FactTold):
            found[entry.event.fact] = entry.event.value
    return found
