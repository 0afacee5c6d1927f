"""Which sounds in a job's folder are its own: whatever else lies in clips/ was put there.

A line names its sound, with its SHA-256. A sound that no line names is the job's own where the log
kept it and its line was not logged: it was saved by the process at work, stands in the last seal,
or was told when a damaged log was gone on with. After a kill it can also be the one kept for the
line that was due: nobody can tell that from a file put there under its name before work goes on.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path

from fieldvoice.devices.joblog.reading import LogRead
from fieldvoice.devices.joblog.sealing import KeptFile, OwnFiles, Seal, clip_names, kept_file
from fieldvoice.jobstate.events import Clip, Entry, LineHeard, LogMended


class OwnClips:
    """The sounds of a job that is open for writing."""

    def __init__(self, folder: Path, found: LogRead, seal: Seal | None) -> None:
        """As they are when the job is opened: what is put there from now on is none of them."""
        self._folder = folder
        self._named = named(found.entries)
        self._loose = loose(folder, found, seal)
        self._sealed = set() if seal is None else {one.file for one in seal.loose}

    def saved(self, clip: Clip) -> None:
        """The sound of a line was kept, which is not logged yet."""
        self._loose[clip.path] = clip.sha256 or ""

    def logged(self, entries: Iterable[Entry]) -> None:
        """Lines were written that may name sounds."""
        self._named |= named(entries)
        self._loose |= _told_at_mends(entries)

    @property
    def unsealed(self) -> bool:
        """Whether there is one that neither a line nor the last seal names."""
        return bool(self._loose.keys() - self._named - self._sealed)

    def there(self) -> OwnFiles:
        """Those in the folder now. Raises OSError."""
        own = [name for name in clip_names(self._folder)
               if name in self._named or name in self._loose]
        return OwnFiles(len(own), [KeptFile(name, self._loose[name]) for name in own
                                   if name not in self._named])

    def were_sealed(self, files: OwnFiles) -> None:
        """A seal was written that names them."""
        self._sealed = {one.file for one in files.loose}


def named(entries: Iterable[Entry]) -> set[str]:
    """The sounds that lines name."""
    return {v.event.clip for v in entries
            if isinstance(v.event, LineHeard) and v.event.clip is not None}


def loose(
    folder: Path, found: LogRead, seal: Seal | None, *, at_work: bool = False
) -> dict[str, str]:
    """The job's own sounds that no line names, as they were kept: name and SHA-256.

    `at_work`: another process has the job open, so that the sound of the next line may be there.
    """
    kept = _told_at_mends(found.entries)
    if seal is not None:
        kept |= {one.file: one.sha256 for one in seal.loose}
    if at_work or seal is None or not _closed(found, seal):
        due = re.compile(rf"clips/{found.next_seq:06d}(-\d+)?\.wav")
        kept = {name: kept_file(folder, name).sha256
                for name in clip_names(folder) if due.fullmatch(name)} | kept
    own = named(found.entries)
    return {name: sha256 for name, sha256 in kept.items() if sha256 and name not in own}


def strange(
    folder: Path, found: LogRead, seal: Seal | None, *, at_work: bool = False
) -> dict[str, str]:
    """Files in clips/ that are none of the job's own, with the SHA-256 of each as it is now."""
    own, kept = named(found.entries), loose(folder, found, seal, at_work=at_work)
    damaged = [fault.text for fault in (*found.faults, *found.mended)]
    others = [kept_file(folder, name) for name in clip_names(folder)
              if name not in own and not any(name in text for text in damaged)]
    return {one.file: one.sha256 for one in others
            if not one.sha256 or kept.get(one.file) != one.sha256}


def _closed(found: LogRead, seal: Seal) -> bool:
    """Whether work was stopped in order: no sound was kept after that."""
    return seal.lines == found.lines and seal.why != "checkpoint"


def _told_at_mends(entries: Iterable[Entry]) -> dict[str, str]:
    return {name: sha256 for v in entries if isinstance(v.event, LogMended)
            for name, sha256 in v.event.loose.items()}
