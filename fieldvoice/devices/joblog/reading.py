"""A log's bytes, read: what of it counts, what does not, and why; damage is told, never fatal.

A line counts when it is what was written: its own hash fits what it says. One that does not is
named among the faults and left out, but for the lines that begin a sheet (job-started), without
which nothing that follows could be read. The lines after a damaged one count: each proves itself.
A line of version 1 has no hash of its own; where the line after it does not confirm it, both are
told and count. Of a turn whose lines are in the middle of the log all that are in order count; a
last turn that is not whole was never answered, and counts as not written (`torn`).
"""

from __future__ import annotations

import hashlib
import stat
from codecs import BOM_UTF8
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

from fieldvoice.devices.joblog.folders import LOG_NAME
from fieldvoice.devices.joblog.lines import (
    FIRST_PREV,
    UNREADABLE,
    Envelope,
    JobLogError,
    NewerLine,
    has_hash,
    hash_fits,
    line_hash,
    read_line,
    written_whole,
)
from fieldvoice.jobstate.events import Entry, JobStarted, LogMended

_MOST_TOLD = 8  # faults that are told one by one; of the others their number
_SHOWN = 300  # bytes of a line that does not count
_ZEROS = b"\0" * 8
_FARTHEST = 10_000_000  # lines that can be missing; a greater number is no number of a line
RESTORE = "bring it back from a copy"
GO_ON = "`fieldvoice work` with --mend goes on with what is left, and logs that"


@dataclass(frozen=True)
class Fault:
    """Something that is not as it was written."""

    where: str  # "line 12", "clips/000012.wav", "seal.json"
    what: str  # what is wrong
    what_to_do: str = GO_ON
    line: int | None = None  # its number in the file, counted from 1
    counts: bool = True  # whether that line still counts
    newer: bool = False  # a newer Fieldvoice wrote it: nothing is damaged
    text: str = ""  # how the line begins, where it does not count
    begins: int | None = None  # the number it carries, where a sheet begins with it all the same

    def __str__(self) -> str:
        return f"{self.where}: {self.what}"


@dataclass(frozen=True)
class Standing:
    """Where the steady clock of a log stood when it ended."""

    last: datetime  # of the last line
    mono: float  # of the last line
    boot: str | None  # which start of the computer that is
    # When that clock stood at 0. A line is written some milliseconds after its `utc`: the line
    # written soonest decides, so that these do not add up from one interruption to the next.
    zero: datetime


_Stood = tuple[datetime, float, str | None, datetime]  # a Standing, while lines are read


@dataclass(frozen=True)
class LogRead:
    """What a log file holds."""

    entries: tuple[Entry, ...]  # all that counts, in the order of its numbers
    notices: tuple[str, ...]  # worked past, but the user must know: a torn turn, faults
    torn: bytes  # what follows the last whole turn; b"" when the log ends cleanly
    last_hash: str  # what the next line carries as `prev`
    faults: tuple[Fault, ...] = ()  # damage that no mend has told yet
    mended: tuple[Fault, ...] = ()  # damage that work went on with; a log-mended event tells it
    standing: Standing | None = None  # of the steady clock; None: no line tells it
    hashes: tuple[str, ...] = field(default=(), repr=False)  # of each line that is whole, in order
    next_seq: int = 1
    job: str = ""  # the name that the lines carry; "": none does

    @property
    def broken(self) -> tuple[str, ...]:
        """The faults, in words."""
        return tuple(map(str, self.faults))

    @property
    def lines(self) -> int:
        """How many lines there are, whether they count or not; those of a torn turn left out."""
        return len(self.hashes)


def read_log(folder: Path) -> LogRead:
    """Read a job's log without locking or changing it. Raises JobLogError."""
    path = folder / LOG_NAME
    try:
        if not stat.S_ISREG(path.lstat().st_mode):
            raise JobLogError(f"{path} is no file but a link, a pipe or a folder; {RESTORE}")
        raw = path.read_bytes()
    except FileNotFoundError:
        raise JobLogError(f"no job log at {path}; `fieldvoice jobs` lists the jobs") from None
    except OSError as error:
        raise JobLogError(f"cannot read {path}: {error.strerror}; check its permissions") from None
    return parse_log(raw, str(path))


def parse_log(raw: bytes, where: str) -> LogRead:
    """What a log's bytes hold; `where` names it in messages. Linear.

    Raises JobLogError where it holds nothing but lines of a newer Fieldvoice.
    """
    lines = raw.split(b"\n")
    tail = lines.pop()
    while lines and _ZEROS in lines[-1]:
        tail = lines.pop() + b"\n" + tail  # a power cut can leave whole blocks of zeros
    reader = _Reader()
    for line in lines:
        reader.take(line)
    return reader.found(raw, len(tail), where)


@dataclass
class _Course:
    """How far a log was read: what a turn that is not whole takes back."""

    counted: int = 0  # entries
    lines: int = 0
    length: int = 0  # bytes
    faults: int = 0
    mends: int = 0
    due: int = 1  # number of the next line
    standing: _Stood | None = None


class _Reader:
    """Takes the lines of a log one by one."""

    def __init__(self) -> None:
        self._entries: list[Entry] = []
        self._faults: list[Fault] = []
        self._hashes: list[str] = []
        self._mends: list[tuple[_Course, LogMended]] = []  # with where each stands
        self._seen: set[int] = set()
        self._damaged = False  # the line before: what follows it cannot name it
        self._prev, self._due, self._length = FIRST_PREV, 1, 0
        self._due_before = 1  # number that was due when the line was taken
        self._is_v2, self._job = False, ""
        self._standing: _Stood | None = None
        self._turn = 0  # of the last line, and how many of its lines are still due
        self._open = 0
        self._turn_began = _Course()

    def take(self, line: bytes) -> None:
        """One line without its line feed."""
        number, self._due_before = len(self._hashes) + 1, self._due
        bare = line.removeprefix(BOM_UTF8).rstrip(b" \t\r")
        if bare != line:
            self._add(number, "carries the mark of an editor at its start or end")
        after_damage, self._damaged = self._damaged, False
        try:
            entry, told = read_line(bare)
        except UNREADABLE as error:
            self._unreadable(bare, number, error)
        else:
            self._read(bare, number, entry, told, after_damage)
        self._prev = line_hash(bare)
        self._hashes.append(self._prev)
        self._length += len(line) + 1

    def _unreadable(self, line: bytes, number: int, error: Exception) -> None:
        newer = isinstance(error, NewerLine) and (
            hash_fits(line) if has_hash(line) else not self._is_v2)
        self._add(number, _why(line, error), counts=False, newer=newer, text=_begins(line))
        self._damaged, self._open = True, 0
        self._due += 1

    def _read(
        self, line: bytes, number: int, entry: Entry, told: Envelope, after_damage: bool
    ) -> None:
        if told.prev != self._prev and not after_damage:
            self._add(number, "does not follow the line before it: one was changed, taken out or "
                              "put in by hand", begins=self._begun_without_hash())
        if self._is_as_written(line, entry, told):
            counts = self._numbered(line, number, entry.seq)
        else:
            counts = isinstance(entry.event, JobStarted) and entry.seq == self._due
            self._due += 1
            does = "counts all the same, since a sheet begins with it" if counts else \
                "does not count"
            self._add(number, f"was changed after it was written; it {does}", counts=counts,
                      text=_begins(line), begins=entry.seq if counts else None)
            self._damaged = True
        self._follow(entry.seq, told, whole=counts)
        if counts:
            self._count(number, entry, told)

    def _begun_without_hash(self) -> int | None:
        """Number of the line before, where a sheet begins with it and nothing else confirms it."""
        before = self._entries[-1] if self._entries and not self._is_v2 else None
        return before.seq if before and isinstance(before.event, JobStarted) else None

    def _is_as_written(self, line: bytes, entry: Entry, told: Envelope) -> bool:
        """Whether the line proves itself."""
        if told.v == 1:  # these only come before those of version 2
            return not self._is_v2 and not has_hash(line)
        self._is_v2 = True
        return hash_fits(line) and 0 <= entry.seq - told.turn < told.turn_lines

    def _numbered(self, line: bytes, number: int, seq: int) -> bool:
        """Whether its number can be; gaps and repetitions are told."""
        due, self._due = self._due, self._due + 1
        if seq == due:
            return True
        wrong = f"has number {seq} where {due} was due"
        if seq in self._seen or seq < 1 or seq > due + _FARTHEST:
            self._add(number, f"{wrong}; it does not count", counts=False, text=_begins(line))
            return False
        self._due = max(due, seq + 1)
        self._add(number, f"{wrong}: " + ("lines are missing" if seq > due else
                                          "it is out of its place"))
        return True

    def _follow(self, seq: int, told: Envelope, *, whole: bool) -> None:
        """Which turn the line belongs to, and how many lines of it are still to come."""
        if not whole or told.v == 1:
            self._open = 0
            return
        if told.turn != self._turn or seq == told.turn:
            self._turn, self._turn_began = told.turn, self._course()
        self._open = told.turn + told.turn_lines - 1 - seq

    def _course(self) -> _Course:
        return _Course(len(self._entries), len(self._hashes), self._length, len(self._faults),
                       len(self._mends), self._due_before, self._standing)

    def _count(self, number: int, entry: Entry, told: Envelope) -> None:
        if told.job and told.job != self._job:
            if self._job:
                self._add(number, f"is a line of another job, {told.job}")
            self._job = self._job or told.job
        if isinstance(entry.event, LogMended):
            self._mends.append((self._course(), entry.event))
        self._standing = _standing(self._standing, told, entry.at)
        self._seen.add(entry.seq)
        self._entries.append(entry)

    def _add(
        self, number: int, what: str, *, counts: bool = True, newer: bool = False, text: str = "",
        begins: int | None = None,
    ) -> None:
        to_do = "update this Fieldvoice" if newer else GO_ON
        self._faults.append(
            Fault(f"line {number:,}", what, to_do, number, counts, newer, text, begins))

    def found(self, raw: bytes, tail: int, where: str) -> LogRead:
        """All that was read; `tail`: how many bytes follow the last whole line."""
        if self._open:
            self._take_back(self._turn_began)
            tail = len(raw) - self._length
        torn = raw[len(raw) - tail :] if tail else b""
        if written_whole(torn):
            self._faults.append(Fault("the end of the log", "the end of the last line was changed; "
                                      "it does not count", text=_begins(torn), counts=False))
        if not self._entries and self._faults and all(fault.newer for fault in self._faults):
            raise JobLogError(f"{where}, {self._faults[0]}; update this one")
        mended = self._mended(raw)
        entries = sorted(self._entries, key=lambda entry: entry.seq)
        faults = tuple(self._faults[mended:])
        standing = self._standing and Standing(*self._standing)
        return LogRead(
            tuple(entries), _notices(faults, torn, where), torn, self._prev, faults,
            tuple(self._faults[:mended]), standing, tuple(self._hashes), self._due, self._job)

    def _take_back(self, to: _Course) -> None:
        del self._entries[to.counted :], self._hashes[to.lines :]
        del self._faults[to.faults :], self._mends[to.mends :]
        self._standing, self._due, self._length = to.standing, to.due, to.length
        self._prev = self._hashes[-1] if self._hashes else FIRST_PREV

    def _mended(self, raw: bytes) -> int:
        """How many of the faults the newest mend tells that still fits what stands before it."""
        for place, mend in reversed(self._mends):
            before = raw[: place.length]
            if (mend.before_bytes, mend.before_sha256) == (
                len(before), hashlib.sha256(before).hexdigest()
            ):
                return place.faults
            self._add(place.lines + 1, "what stands before it was changed after it was mended")
        return 0


def _notices(faults: tuple[Fault, ...], torn: bytes, where: str) -> tuple[str, ...]:
    notices = [f"{where}, {fault}" for fault in faults[:_MOST_TOLD]]
    if len(faults) > _MOST_TOLD:
        notices.append(f"{where}: and {len(faults) - _MOST_TOLD:,} more faults; "
                       "`fieldvoice log verify` lists them")
    if torn:
        notices.append(f"{where}: the last line was cut short ({len(torn)} bytes); everything "
                       "before it counts")
    return tuple(notices)


def _why(line: bytes, error: Exception) -> str:
    if not line.strip():
        return "is empty"
    if isinstance(error, NewerLine):
        return str(error)
    if isinstance(error, RecursionError):
        return "is not an event of a job log: too many brackets in one another"
    if isinstance(error, UnicodeError):
        return f"is not an event of a job log: it is no UTF-8 text ({error})"
    return f"is not an event of a job log: {error}"


def _begins(line: bytes) -> str:
    return line[:_SHOWN].decode("utf-8", "replace")


def _standing(before: _Stood | None, line: Envelope, at: datetime) -> _Stood | None:
    """The standing after one more line."""
    mono = line.mono
    if mono is None:
        return before
    zero = at - timedelta(seconds=mono)
    boot = line.boot_after(None if before is None else before[2])
    if before is not None and boot is not None and boot == before[2] and before[3] > zero:
        zero = before[3]
    return at, mono, boot, zero
