"""The lines of a job's log: how one is written and read back.

One line of log.jsonl is one event:
    {"v": 1, "seq": 7, "utc": "2026-03-02T09:14:05.120000-05:00", "mono": 812.4,
     "kind": "reading-taken", "data": {...}, "prev": "<sha256 of the line before>"}
and "unit": "unit two" before "data" where it is not of the job's first unit, "boot" before "kind"
where another start of the computer than that of the line before wrote it.
`utc` is the moment with its offset from UTC: by the wall clock when the job was begun and by the
steady one from then on, so that it goes on as it did where the wall clock is set (clock-jumped says
by how much) and never runs back; after a restart of the computer by the wall clock, less what that
was set by. `mono` is seconds of a clock that never jumps while the computer is not started anew,
`boot` which start of the computer `mono` counts from, null where that is not known. `prev` is the
SHA-256 of the bytes of the line before without its line feed (64 zeros on the first line), so that
a changed, missing or added line shows. A line counts once its line feed is on disk.
"""

from __future__ import annotations

import hashlib
import json
from codecs import BOM_UTF8
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Annotated, Any

import msgspec

from fieldvoice.errors import FieldvoiceError
from fieldvoice.jobstate.events import SCHEMA_VERSION, Entry, Event

FIRST_PREV = "0" * 64


class _Version(msgspec.Struct):
    """What is read of a line first."""

    v: int


class _Envelope(msgspec.Struct):
    """What is read of a line then; whatever else it holds does not matter."""

    seq: int
    utc: Annotated[datetime, msgspec.Meta(tz=True)]
    kind: str
    data: dict[str, Any]
    prev: str
    unit: str | None = None
    mono: float | None = None
    boot: str | msgspec.UnsetType | None = msgspec.UNSET


_VERSION = msgspec.json.Decoder(_Version)
_ENVELOPE = msgspec.json.Decoder(_Envelope)


class JobLogError(FieldvoiceError):
    """The job's folder cannot be used; the message says what, where and what to do."""


class WriteRefused(JobLogError):
    """The disk did not take it; nothing that was there is lost."""

    def __init__(self, message: str, reason: str) -> None:
        super().__init__(message)
        self.reason = reason  # in a few words, to be said: "the disk is full"


@dataclass(frozen=True)
class Standing:
    """Where the steady clock of a log stood when it ended."""

    last: datetime  # of the last line
    mono: float  # of the last line
    boot: str | None  # which start of the computer that is
    # When that clock stood at 0. A line is written some milliseconds after its `utc`: the line
    # written soonest decides, so that these do not add up from one interruption to the next.
    zero: datetime

    def after(self, at: datetime, mono: float, boot: str | None) -> Standing:
        """The standing after one more line."""
        zero = at - timedelta(seconds=mono)
        same = boot is not None and boot == self.boot
        return Standing(at, mono, boot, max(zero, self.zero) if same else zero)


@dataclass(frozen=True)
class LogRead:
    """What a log file holds."""

    entries: tuple[Entry, ...]
    notices: tuple[str, ...]  # worked past, but the user must know: torn line, broken chain
    torn: bytes  # what follows the last whole line; b"" when the log ends cleanly
    last_hash: str  # what the next line carries as `prev`
    broken: tuple[str, ...] = ()  # those of the notices that say the chain of hashes is broken
    standing: Standing | None = None  # of the steady clock; None: no line tells it


def write_line(entry: Entry, mono: float, prev: str, **boot: str | None) -> bytes:
    """One line without its line feed. `mono` in seconds, `prev` the hash of the line before.

    `boot`: given where it is another one than that of the line before.
    """
    found = {
        "v": SCHEMA_VERSION,
        "seq": entry.seq,
        "utc": entry.at.isoformat(),
        "mono": round(mono, 6),
        **boot,
        "kind": entry.event.kind,
        **({} if entry.unit is None else {"unit": entry.unit}),
        "data": entry.event.to_dict(),
        "prev": prev,
    }
    told = json.dumps(found, ensure_ascii=False, allow_nan=False)
    return told.encode("utf-8", "replace")  # halves of characters cannot be written


def parse_log(raw: bytes, where: str) -> LogRead:
    """Entries of a log's bytes; `where` names it in messages. Raises JobLogError."""
    lines = raw.split(b"\n")
    torn = lines.pop()
    if lines and not torn and not _is_json(lines[-1]):
        torn = lines.pop() + b"\n"  # a power cut can leave a whole block of rubbish
    entries: list[Entry] = []
    broken: list[str] = []
    prev, standing = FIRST_PREV, None
    for number, line in enumerate(lines, start=1):
        entry, found = _parse_line(line, f"{where}, line {number}")
        broken += _chain_notices(entry, found.prev, prev, entries, f"{where}, line {number}")
        standing = _standing(standing, found)
        entries.append(entry)
        prev = line_hash(line)
    notices = list(broken)
    if torn:
        notices.append(
            f"{where}: the last line was cut short ({len(torn)} bytes); everything before it counts"
        )
    return LogRead(tuple(entries), tuple(notices), torn, prev, tuple(broken), standing)


def _parse_line(line: bytes, where: str) -> tuple[Entry, _Envelope]:
    line = line.removeprefix(BOM_UTF8)  # an editor may have put it there
    try:
        version = _VERSION.decode(line).v
        if version > SCHEMA_VERSION:
            raise JobLogError(
                f"{where}: written by a newer Fieldvoice (v {version}); update this one"
            )
        found = _ENVELOPE.decode(line)
        event = Event.from_dict(found.kind, found.data, version)
    except ValueError as error:
        raise JobLogError(
            f"{where}: not an event of a job log: {error}; repair the line from a copy, or move "
            "the folder away and start the job again"
        ) from None
    return Entry(found.seq, found.utc, event, found.unit), found


def _standing(before: Standing | None, line: _Envelope) -> Standing | None:
    if line.mono is None:
        return before
    if before is None:
        boot = None if line.boot is msgspec.UNSET else line.boot
        return Standing(line.utc, line.mono, boot, line.utc - timedelta(seconds=line.mono))
    return before.after(
        line.utc, line.mono, before.boot if line.boot is msgspec.UNSET else line.boot)


def _chain_notices(
    entry: Entry, said_prev: str, prev: str, earlier: Sequence[Entry], where: str
) -> list[str]:
    found = []
    if said_prev != prev:
        found.append(f"{where}: does not follow the line before it; the log was changed by hand")
    expected = earlier[-1].seq + 1 if earlier else 1
    if entry.seq != expected:
        found.append(f"{where}: number {entry.seq} where {expected} was due; lines are missing")
    return found


def _is_json(line: bytes) -> bool:
    try:
        msgspec.json.decode(line, type=msgspec.Raw)
    except ValueError:
        return False
    return True


def line_hash(line: bytes) -> str:
    """SHA-256 of a line's bytes, without its line feed."""
    return hashlib.sha256(line).hexdigest()
