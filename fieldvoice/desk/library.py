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
from fieldvoice.devices.joblog import LOG_NAME, held_by, read_log, read_procedures, skim
from fieldvoice.errors import FieldvoiceError
from fieldvoice.jobstate.events import WORK, Entry, LineHeard
from fieldvoice.jobstate.job import FIRST, unit_of
from fieldvoice.review.job_facts import SAYS_NOTHING, SEARCHED, results, told_facts
from fieldvoice.review.job_standing import JobStanding, in_words, job_standing
from fieldvoice.review.logged_job import LoggedJob, LoggedUnits, read_units

_SHOWN = (*SEARCHED, "helper", "shop", "equipment-number", "outdoor-serial",
          "indoor-serial")  # facts that a job is searched by
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
    mode: str = ""
    words: str = ""  # how it stands
    results: str = ""  # what was judged
    events: int = 0
    trouble: str = ""  # why it cannot be read, or what is wrong with it

    def fits(self, words: str) -> bool:
        """Whether every word asked for stands in it."""
        damaged = "damaged" if self.trouble else ""
        began = "" if self.began is None else f"{self.began:%Y-%m-%d}"
        text = (f"{self.name} {self.place} {self.about} {self.procedure} {self.words} {self.mode} "
                f"{self.results} {began} {damaged}").casefold()
        return all(word in text for word in words.casefold().split())


@dataclass(frozen=True)
class _Known:
    """What a log tells for the list, whatever the time and whoever works on it now."""

    standing: JobStanding
    facts: dict[str, str]
    results: str
    events: int
    trouble: str
    timed: tuple[Entry, ...]  # what it is told from anew, where a timer runs

    def standing_at(self, now: datetime) -> JobStanding:
        """How it stands by now."""
        if not self.timed:
            return self.standing
        return job_standing(self.timed, now, self.standing.last_at)


@dataclass
class Library:
    """All jobs of a shelf; safe to be asked by several threads."""

    shelf: Shelf
    _jobs: OrderedDict[str, tuple[Signature, ReadJob]] = field(default_factory=OrderedDict)
    _known: dict[str, tuple[Signature, _Known]] = field(default_factory=dict)
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

    @property
    def kept(self) -> tuple[str, ...]:
        """The jobs that are kept whole, the one asked for last at the end."""
        return tuple(self._jobs)

    def read_ahead(self, now: datetime) -> None:
        """Read of every job what the list shows, so that a first search need not wait for it."""
        for name in self.shelf.names():
            self.summary(name, now)

    def summary(self, name: str, now: datetime) -> Summary:
        """What the list shows of a job; one that cannot be read stands there with the reason."""
        try:
            folder = self.shelf.folder(name)
            signature = _signature(folder)
            kept = self._known.get(name)
            if kept is None or kept[0] != signature:
                self._known[name] = kept = signature, _known(folder, now)
            return _summary(name, kept[1], held_by(folder), now)
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


def _known(folder: Path, now: datetime) -> _Known:
    """Most lines of a sound log need not be taken apart for it."""
    skimmed = skim(folder, SAYS_NOTHING)
    if skimmed is not None:
        return _of_entries(skimmed.entries, skimmed.lines, "", now, skimmed.last_at)
    read = read_log(folder)
    return _of_entries(tuple(read.entries), len(read.entries), "; ".join(read.notices), now)


def _of_entries(
    entries: tuple[Entry, ...], lines: int, trouble: str, now: datetime,
    last_at: datetime | None = None,
) -> _Known:
    found = job_standing(entries, now, last_at)
    timed = any(unit.timers for unit in found.units.values())
    return _Known(found, told_facts(entries, _SHOWN), ", ".join(results(entries)), lines, trouble,
                  entries if timed else ())


def _summary(name: str, known: _Known, holder: str | None, now: datetime) -> Summary:
    found, facts = known.standing_at(now), known.facts
    return Summary(
        name, facts.get("place", ""), " ".join(facts.get(fact, "") for fact in _SHOWN),
        found.procedure, found.started, "" if found.mode == WORK else found.mode,
        f"at work in process {holder}" if holder else in_words(found, now), known.results,
        known.events, known.trouble)
