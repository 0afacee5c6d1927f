"""A log read for a list of jobs: its chain is checked whole, but not every line is taken apart."""

from __future__ import annotations

import re
from collections.abc import Set
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from fieldvoice.devices.joblog.folders import LOG_NAME
from fieldvoice.devices.joblog.inside import open_plain
from fieldvoice.devices.joblog.lines import (
    FIRST_PREV,
    UNREADABLE,
    has_hash,
    hash_fits,
    line_hash,
    read_line,
)
from fieldvoice.devices.joblog.sealing import SealBroken, read_seal
from fieldvoice.jobstate.events import Entry, is_work

_SEQ = re.compile(rb'^\{"v": \d+, "seq": (\d+),')
_KIND = re.compile(rb'"kind": "([a-z-]+)"')  # within a text the quotes carry a backslash
_PREV = re.compile(rb'"prev": "([0-9a-f]{64})"(?:, "hash": "[0-9a-f]{64}")?\}$')
_END = 160  # bytes at the end of a line that hold both


@dataclass(frozen=True)
class Skimmed:
    """A whole log, of which some kinds of events were left out."""

    entries: tuple[Entry, ...]
    lines: int
    last_at: datetime  # last worked on


def skim(folder: Path, left_out: Set[bytes]) -> Skimmed | None:
    """The events of a log but those kinds; None where it must be read properly.

    That is where any line is not as it was written, does not follow the one before it, or was cut
    short, and where more lines were sealed than are there: then `read_log` and `opening_faults` say
    what is wrong. Fields of lines that are left out are not looked at.
    """
    try:
        seal = read_seal(folder)
        with open_plain(folder / LOG_NAME) as file:
            raw = file.read()
        found = _skimmed(raw.split(b"\n"), left_out)
    except (OSError, SealBroken, *UNREADABLE):
        return None
    return None if found is None or (seal is not None and seal.lines > found.lines) else found


def _skimmed(lines: list[bytes], left_out: Set[bytes]) -> Skimmed | None:
    if len(lines) < 2 or lines.pop():
        return None
    prev, wanted = FIRST_PREV.encode(), []
    for number, line in enumerate(lines, 1):
        found = _PREV.search(line, max(0, len(line) - _END))
        seq, kind = _SEQ.match(line), _KIND.search(line)
        if not (found and seq and kind) or found[1] != prev or int(seq[1]) != number:
            return None
        if has_hash(line) and not hash_fits(line):
            return None
        prev = line_hash(line).encode()
        if kind[1] not in left_out:
            wanted.append(line)
    last, told = read_line(lines[-1])
    if told.turn and told.turn + told.turn_lines - 1 != last.seq:
        return None  # a turn of which a part is missing
    newest = (read_line(line)[0] for line in reversed(lines))
    worked_on = next((entry.at for entry in newest if is_work(entry.event)), last.at)
    return Skimmed(tuple(read_line(line)[0] for line in wanted), len(lines), worked_on)

