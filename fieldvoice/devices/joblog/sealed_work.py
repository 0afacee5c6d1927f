"""The seals of a job that is open for writing: when one is due, and why it was not written."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

from fieldvoice.devices.free_name import first_free, made_free, numbered
from fieldvoice.devices.joblog.inside import open_plain
from fieldvoice.devices.joblog.lines import FIRST_PREV, JobLogError
from fieldvoice.devices.joblog.log_file import LogFile
from fieldvoice.devices.joblog.own_clips import OwnClips, strange
from fieldvoice.devices.joblog.reading import LogRead, read_log
from fieldvoice.devices.joblog.refusal import unwritten
from fieldvoice.devices.joblog.sealing import (
    OLD_SEAL,
    SEAL_NAME,
    OwnFiles,
    Seal,
    kept_file,
    kept_procedures,
    register,
    seal_of,
    write_seal,
)
from fieldvoice.devices.joblog.verifying import found_seal
from fieldvoice.devices.whole_file import write_whole
from fieldvoice.jobstate.events import Entry, JobFinished, JobStarted, LogMended, VerdictGiven

_SEALED_AT_ONCE = (JobStarted, VerdictGiven, JobFinished)


class SealedWork:
    """What a seal says of the folder, kept up while lines, sounds and procedures are added."""

    def __init__(self, folder: Path, found: LogRead, job: str) -> None:
        """As the folder is when it is opened: what else is changed from now on is not sealed."""
        seal = found_seal(folder)[0]
        self._folder, self._job = folder, job
        self._opened_with = found.lines
        self._hashes = (found.lines, found.last_hash, (*found.hashes, FIRST_PREV)[0])
        self._registered = _stopped_with(seal)  # what was sealed and registered last
        self._procedures = kept_procedures(folder)
        self.clips = OwnClips(folder, found, seal)
        self.strange = partial(strange, folder, found, seal)  # sounds that are none of its own
        self.unsealed = ""  # why the last seal could not be written

    def begun(self, unsealed: str) -> None:
        """The job was created and sealed just now; `unsealed`: in its own folder alone, and why."""
        self._registered, self.unsealed = self._hashes, unsealed

    def procedure_kept(self, name: str) -> None:
        """A procedure's file was written, anew or again."""
        kept = [one for one in self._procedures if one.file != name]
        self._procedures = [*kept, kept_file(self._folder, name)]

    def logged(self, entries: Sequence[Entry], last_hash: str, file: LogFile) -> None:
        """What was appended, for the next seal; some events are sealed at once."""
        lines, _, first = self._hashes
        if not lines:
            first = _first_hash(self._folder)
        self._hashes = (lines + len(entries), last_hash, first)
        self.clips.logged(entries)
        if any(isinstance(v.event, LogMended) for v in entries):
            self._seal("mended", file)
        elif self.clips.unsealed or any(isinstance(v.event, _SEALED_AT_ONCE) for v in entries):
            self._seal("checkpoint", file)

    def stop(self, file: LogFile, *, damaged: bool) -> None:
        """Seal what was not yet; `damaged`: not before something was written that says so."""
        if damaged and self._hashes[0] == self._opened_with:
            return
        if self._hashes != self._registered or self.clips.unsealed:
            self._seal("stopped", file)

    def _seal(self, why: str, file: LogFile) -> None:
        """Write down what the folder holds; where that cannot be, the next seal does it."""
        try:
            file.check()
            own = self.clips.there()
            seal = seal_of(self._folder, self._job, why, self._hashes, self._procedures, own,
                           datetime.now(UTC))
            write_seal(self._folder, seal)
            self.clips.were_sealed(own)
            if why != "checkpoint":  # then the register has it when work stops
                register(seal)
                self._registered = self._hashes
            self.unsealed = ""
        except (OSError, JobLogError) as error:
            if file.trouble is None:  # else that is told already
                self.unsealed = unwritten(error)


def seal_new(folder: Path, job: str) -> str:
    """Write down that a job was created; why that is in its own folder alone.

    Raises OSError where it cannot be there.
    """
    seal = seal_of(folder, job, "created", (0, FIRST_PREV, FIRST_PREV), kept_procedures(folder),
                   OwnFiles(), datetime.now(UTC))
    write_seal(folder, seal)
    try:
        register(seal)
    except OSError as error:  # the next seal may find room there
        return unwritten(error)
    return ""


def set_aside_seal(folder: Path) -> str | None:
    """Keep the seal that a damaged log does not fit any more, beside the next one; its new name."""
    try:
        with open_plain(folder / SEAL_NAME) as file:
            keep = partial(write_whole, data=file.read(), new=True)
        aside = made_free(folder, numbered(OLD_SEAL), keep)
    except FileNotFoundError:
        return None
    except OSError:  # a link, a folder: out of the way with it
        aside = first_free(folder, numbered(OLD_SEAL))
        (folder / SEAL_NAME).rename(aside)
    return aside.name


def _stopped_with(seal: Seal | None) -> tuple[int, str, str] | None:
    """Lines, last and first hash of a seal written when work stopped."""
    if seal is None or seal.why == "checkpoint":
        return None
    return seal.lines, seal.head, seal.first


def _first_hash(folder: Path) -> str:
    """The hash of a log's first line; zeros where there is none. Raises JobLogError."""
    hashes = read_log(folder).hashes
    return hashes[0] if hashes else FIRST_PREV
