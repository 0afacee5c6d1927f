"""A log read for a list of jobs: its chain is checked whole, but not every line is taken apart."""

from __future__ import annotations

import re
from collections.abc import Set
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Annotated, Any

import msgspec

from fieldvoice.devices.joblog.folders import LOG_NAME
from fieldvoice.devices.joblog.lines import FIRST_PREV, line_hash
from fieldvoice.jobstate.events import SCHEMA_VERSION, Entry, Event

_SEQ = re.compile(rb'^\{"v": \d+, "seq": (\d+),')
_KIND = re.compile(rb'"kind": "([a-z-]+)"')  # within a text the quotes carry a backslash
_PREV = re.compile(rb'"prev": "([0-9a-f]{64})"(?:, "hash": "([0-9a-f]{64})")?\}$')
_OWN = b', "hash": "'
_END = 160  # bytes at the end of a line that hold both


class _Line(msgspec.Struct):
    v: int
    seq: int
    utc: Annotated[datetime, msgspec.Meta(tz=True)]
    kind: str
    data: dict[str, Any]
    unit: str | None = None
    turn: int | None = None
    turn_lines: int | None = None


_LINE = msgspec.json.Decoder(_Line)


@dataclass(frozen=True)
class Skimmed:
    """A whole log, of which some kinds of events were left out."""

    entries: tuple[Entry, ...]
    lines: int
    last_at: datetime


def skim(folder: Path, left_out: Set[bytes]) -> Skimmed | None:
    """The events of a log but those kinds; None where it must be read properly.

    That is where any line is not as it was written, does not follow the one before it, or was cut
    short: then `read_log` says what is wrong. Fields of lines that are left out are not looked at.
    """
    try:
        raw = (folder / LOG_NAME).read_bytes()
        return _skimmed(raw.split(b"\n"), left_out)
    except (OSError, ValueError):
        return None


def _skimmed(lines: list[bytes], left_out: Set[bytes]) -> Skimmed | None:
    if len(lines) < 2 or lines.pop():
        return None
    prev, wanted = FIRST_PREV.encode(), []
    for number, line in enumerate(lines, 1):
        found = _PREV.search(line, max(0, len(line) - _END))
        seq, kind = _SEQ.match(line), _KIND.search(line)
        if not (found and seq and kind) or found[1] != prev or int(seq[1]) != number:
            return None
        own = found[2]
        hashed = line_hash(line if own is None else line[:line.rindex(_OWN)]).encode()
        if own not in (None, hashed):
            return None
        prev = hashed
        if kind[1] not in left_out:
            wanted.append(line)
    last = _LINE.decode(lines[-1])
    if last.turn is not None and last.turn + (last.turn_lines or 1) - 1 != last.seq:
        return None  # a turn of which a part is missing
    return Skimmed(tuple(map(_entry, wanted)), len(lines), last.utc)


def _entry(line: bytes) -> Entry:
    found = _LINE.decode(line)
    if found.v > SCHEMA_VERSION:
        raise ValueError("written by a newer Fieldvoice")
    return Entry(found.seq, found.utc, Event.from_dict(found.kind, found.data, found.v), found.unit)
