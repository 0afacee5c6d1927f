"""The lines of a job's log: how one is written and read back.

One line of log.jsonl is one event; its members stand in this order:
    {"v": 2, "seq": 12, "turn": 11, "turn_lines": 3, "job": "unit-12b",
     "utc": "2026-03-02T14:14:05.120000Z", "offset": "-05:00", "mono": 812.4,
     "kind": "reading-taken", "data": {...}, "prev": "<64 hex>", "hash": "<64 hex>"}
and "unit": "unit two" before "data" where it is not of the job's first unit, "boot" before "kind"
where another start of the computer than that of the line before wrote it.
`turn` is the `seq` of the first line of the turn that it belongs to, `turn_lines` how many lines
that turn has: a turn counts once the line feed of its last line is on disk. `job` is the name that
the job began with. `utc` is the moment, `offset` what the local time is ahead of it: by the wall
clock when the job was begun and by the steady one from then on, so that it goes on as it did where
the wall clock is set (clock-jumped says by how much) and never runs back; after a restart of the
computer by the wall clock, less what that was set by; after recording-heard by the recording, which
may be older than a review in the lines before. `mono` is seconds of a clock that never jumps
while the computer is not started anew, `boot` which start of the computer `mono` counts from, null
where that is not known. `hash` is the SHA-256 of the bytes of the line before `, "hash": "`, and
`prev` the `hash` of the line before (64 zeros on the first line), so that a changed, missing or
added line shows. Lines of version 1 have `utc` with its offset and no turn, job, offset and hash;
`prev` after one of them is the SHA-256 of its bytes without its line feed.
"""

from __future__ import annotations

import hashlib
import json
from codecs import BOM_UTF8
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta, timezone
from functools import lru_cache
from typing import Annotated, Any

import msgspec

from fieldvoice.devices.joblog.values import check_values
from fieldvoice.errors import FieldvoiceError
from fieldvoice.jobstate.events import SCHEMA_VERSION, Entry, Event

FIRST_PREV = "0" * 64
_MARK = b', "hash": "'
_TAIL = len(_MARK) + 66  # of a line: the mark, 64 digits, a quotation mark and a brace
_DEEPEST = 40  # levels of lists and objects in one another; no event has ten
_LONGEST_S = 1e10  # seconds; three centuries
_MANY = 200  # brackets of a line that is looked at for its depth
# what a line can make fail that is none of ours
UNREADABLE = (ValueError, TypeError, LookupError, ArithmeticError, AttributeError, RecursionError)


class Envelope(msgspec.Struct):
    """What is read of a line; whatever else it holds does not matter."""

    v: int
    seq: int
    utc: Annotated[datetime, msgspec.Meta(tz=True)]
    kind: str
    data: dict[str, Any]
    prev: str
    turn: int = 0
    turn_lines: int = 1
    job: str = ""
    offset: str = ""
    unit: str | None = None
    mono: float | None = None
    boot: str | msgspec.UnsetType | None = msgspec.UNSET

    def boot_after(self, before: str | None) -> str | None:
        """Which start of the computer `mono` counts from, after a line of that one."""
        return before if self.boot is msgspec.UNSET else self.boot


_ENVELOPE = msgspec.json.Decoder(Envelope)


class JobLogError(FieldvoiceError):
    """The job's folder cannot be used; the message says what, where and what to do."""


class WriteRefused(JobLogError):
    """The disk did not take it; nothing that was there is lost."""

    def __init__(self, message: str, reason: str) -> None:
        super().__init__(message)
        self.reason = reason  # in a few words, to be said: "the disk is full"


class NewerLine(FieldvoiceError, ValueError):
    """A line that a newer Fieldvoice wrote."""


def write_turn(
    entries: Sequence[Entry], steady: Callable[[], float], prev: str, job: str,
    boot: str | None = None, told: str | None = None,
) -> tuple[list[bytes], str]:
    """The lines of a turn without their line feeds, and the hash of the last one.

    `boot`: which start of the computer `steady` counts from; `told`: what the line before says.
    """
    lines: list[bytes] = []
    for entry in entries:
        changed = {} if told == boot else {"boot": boot}
        lines.append(write_line(entry, steady(), prev, job=job, turn=entries[0].seq,
                                turn_lines=len(entries), **changed))
        prev, told = line_hash(lines[-1]), boot
    return lines, prev


def write_line(
    entry: Entry, mono: float, prev: str, *, job: str = "", turn: int | None = None,
    turn_lines: int = 1, **boot: str | None,
) -> bytes:
    """One line without its line feed. `mono` in seconds, `prev` the hash of the line before.

    `turn`: number of the first line of its turn; None: it is that line.
    `boot`: given where it is another one than that of the line before.
    """
    found = {
        "v": SCHEMA_VERSION,
        "seq": entry.seq,
        "turn": entry.seq if turn is None else turn,
        "turn_lines": turn_lines,
        "job": job,
        "utc": written_utc(entry.at),
        "offset": written_offset(entry.at),
        "mono": round(mono, 6),
        **boot,
        "kind": entry.event.kind,
        **({} if entry.unit is None else {"unit": entry.unit}),
        "data": entry.event.to_dict(),
        "prev": prev,
    }
    return with_hash(found)


def with_hash(found: dict[str, Any]) -> bytes:
    """A JSON object as one line that ends with the hash of what it says."""
    told = json.dumps(found, ensure_ascii=False, allow_nan=False)
    body = told[:-1].encode("utf-8", "replace")  # halves of characters cannot be written
    return body + _MARK + _sha256(body).encode("ascii") + b'"}'


def hash_fits(line: bytes) -> bool:
    """Whether a line ends with the hash of what it says."""
    return line[-66:] == _sha256(line[:-_TAIL]).encode("ascii") + b'"}' and (
        line[-_TAIL:-66] == _MARK)


def has_hash(line: bytes) -> bool:
    """Whether a line ends as one of version 2 does."""
    return line[-_TAIL:-66] == _MARK and line[-2:] == b'"}'


def written_whole(torn: bytes) -> bool:
    """Whether a whole line stands there, followed by what is no line feed: nothing was cut short.
    """
    end = torn.rfind(_MARK) + _TAIL
    return _TAIL <= end < len(torn) and torn[end : end + 1] != b"\n" and hash_fits(
        torn[torn.rfind(b"\n", 0, end) + 1 : end])


def line_hash(line: bytes) -> str:
    """What the line that follows carries as `prev`; `line` without its line feed."""
    return line[-66:-2].decode("ascii", "replace") if has_hash(line) else _sha256(line)


def read_line(line: bytes) -> tuple[Entry, Envelope]:
    """A line, believed to be in order. Raises one of UNREADABLE that says what is wrong."""
    found = _ENVELOPE.decode(line.removeprefix(BOM_UTF8))  # an editor may have put it there
    if found.v > SCHEMA_VERSION:
        raise NewerLine(f"written by a newer Fieldvoice (v {found.v})")
    if found.v < 1:
        raise ValueError(f"there is no version {found.v} of the log's lines")
    if line.count(b"[") + line.count(b"{") > _MANY:
        _check_depth(found.data)
    if abs(found.mono or 0) > _LONGEST_S or not 1900 < found.utc.year < 2400:
        raise ValueError("no clock shows such a time")
    event = Event.from_dict(found.kind, found.data, found.v)
    check_values(event)
    at = found.utc if found.v == 1 else found.utc.astimezone(_zone(found.offset))
    return Entry(found.seq, at, event, found.unit), found


def written_utc(at: datetime) -> str:
    """A moment in UTC, always as long."""
    return at.astimezone(UTC).replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"


def written_offset(at: datetime) -> str:
    """What local time is ahead of UTC: "-05:00"."""
    ahead = at.utcoffset() or timedelta()
    minutes = round(abs(ahead) / timedelta(minutes=1))
    return f"{'-' if ahead < timedelta() else '+'}{minutes // 60:02}:{minutes % 60:02}"


@lru_cache(maxsize=64)
def _zone(offset: str) -> timezone:
    at = datetime.fromisoformat(f"2000-01-01T00:00:00{offset}").utcoffset()
    if at is None or len(offset) != 6:
        raise ValueError(f"{offset!r} is no offset from UTC - at `$.offset`")
    return timezone(at)


def _check_depth(found: Any) -> None:
    level = [found]
    for _ in range(_DEEPEST):
        level = [part for v in level if isinstance(v, dict | list)
                 for part in (v.values() if isinstance(v, dict) else v)]
        if not level:
            return
    raise ValueError(f"more than {_DEEPEST} levels of brackets")


def _sha256(line: bytes) -> str:
    return hashlib.sha256(line).hexdigest()
