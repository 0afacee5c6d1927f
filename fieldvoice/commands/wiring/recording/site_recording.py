"""A recording made on site: its sound, and when it began."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.devices.recorded_at import recorded_at
from fieldvoice.devices.soundfile import RATE, read_sound
from fieldvoice.jobstate.events import Entry, RecordingHeard

GIVEN, LOGGED, METADATA, CHANGED = "given", "logged", "metadata", "changed"
_HOW = {  # where its beginning is known from, as it is told
    GIVEN: "as given", LOGGED: "as logged when it was heard before",
    METADATA: "by its metadata",
    CHANGED: "by when the file was last changed, less its length; --began tells it better",
}
_CLOCKS_APART = timedelta(minutes=2)  # a recorder's clock and this one's


@dataclass(frozen=True)
class SiteRecording:
    """Sound with the time at which it was recorded."""

    path: Path
    pcm: NDArray[np.int16]  # 16 kHz mono
    sha256: str  # of the file
    began: datetime  # aware
    known_by: str

    @property
    def seconds(self) -> float:
        """How long it is."""
        return len(self.pcm) / RATE

    @property
    def ended(self) -> datetime:
        """When its last sample was recorded."""
        return self.began + timedelta(seconds=self.seconds)

    @property
    def told(self) -> str:
        """When it began, and where that is known from."""
        return (f"{self.path} began {self.began:%Y-%m-%d %H:%M:%S} and ended "
                f"{self.ended:%H:%M:%S}, {_HOW[self.known_by]}")

    def as_event(self, skipped: float) -> RecordingHeard:
        """What is logged of it; the first seconds are `skipped`."""
        return RecordingHeard(self.path.name, self.sha256, round(self.seconds, 3),
                              self.began.isoformat(), self.known_by, round(skipped, 3))


def read_recording(
    path: Path, began: str | None, entries: Iterable[Entry], now: datetime
) -> SiteRecording:
    """The recording; `began` as given on the command line, `entries` of the job that it goes into.

    Raises CommandError for a beginning that cannot be, SoundFileError for a file that cannot be
    heard.
    """
    pcm = read_sound(path)
    if not path.is_file():
        raise CommandError(f"{path} is no file: a job takes a recording that can be heard again")
    with path.open("rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
    length = timedelta(seconds=len(pcm) / RATE)
    at, known_by = _began(path, began, length, _logged(digest, entries))
    found = SiteRecording(path, pcm, digest, at, known_by)
    if found.ended > now + _CLOCKS_APART:
        raise CommandError(f"{found.told}: that is still to come; give its beginning with --began")
    return found


def _began(
    path: Path, given: str | None, length: timedelta, logged: datetime | None
) -> tuple[datetime, str]:
    changed = datetime.fromtimestamp(path.stat().st_mtime).astimezone()
    if given is not None:
        return _read(given, changed), GIVEN
    if logged is not None:
        return logged, LOGGED
    said = recorded_at(path)
    return (changed - length, CHANGED) if said is None else (said, METADATA)


def _logged(digest: str, entries: Iterable[Entry]) -> datetime | None:
    """When the same recording began, as it was logged last."""
    found = [v.event.began for v in entries
             if isinstance(v.event, RecordingHeard) and v.event.sha256 == digest]
    return datetime.fromisoformat(found[-1]) if found else None


def _read(given: str, changed: datetime) -> datetime:
    """A moment as written; a time of day is of the day on which the file was last changed, or of
    the one before.
    """
    text = given.strip()
    try:
        if "-" in text:
            moment = datetime.fromisoformat(text)
            return moment if moment.tzinfo else moment.astimezone()
        at = time.fromisoformat(f"0{text}" if text[1:2] == ":" else text)
    except ValueError:
        raise CommandError(
            f"--began {given}: write it like '2026-03-02 09:14' or 9:14:30") from None
    moment = datetime.combine(changed.date(), at).astimezone()
    earlier = datetime.combine(changed.date() - timedelta(days=1), at).astimezone()
    return moment if moment <= changed else earlier
