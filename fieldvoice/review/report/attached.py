"""The files kept with a job, as its report shows them."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from fieldvoice.devices.joblog import JobLogError, read_inside
from fieldvoice.jobstate.records import Attachment
from fieldvoice.jobstate.state import JobState
from fieldvoice.review.report.image import image_url


@dataclass(frozen=True)
class Shown:
    """One file; without `url` it is named only."""

    url: str | None  # of a picture, within the page
    name: str
    caption: str
    facts: str  # "unit one, 14:02, by Ann Lee, 2,120 kB, SHA-256 9f2c..."
    trouble: str = ""  # why it is not what was kept


def attached(
    folder: Path, states: Mapping[str, JobState], clock: Callable[[datetime], str]
) -> list[Shown]:
    """Those that count, unit by unit; a missing or altered one says so."""
    return list(_attached(folder, states, clock))


def _attached(
    folder: Path, states: Mapping[str, JobState], clock: Callable[[datetime], str]
) -> Iterator[Shown]:
    for unit, state in states.items():
        for kept in state.attachments:
            by = f"by {kept.by}" if kept.by else ""
            told = (unit if len(states) > 1 else "", clock(kept.at), by,
                    f"{max(1, kept.bytes // 1000):,} kB", f"SHA-256 {kept.sha256[:12]}")
            url, trouble = _looked_at(folder, kept)
            yield Shown(url, kept.file, kept.caption, ", ".join(filter(None, told)), trouble)


def _looked_at(folder: Path, kept: Attachment) -> tuple[str | None, str]:
    try:
        data = read_inside(folder, kept.file)
    except JobLogError:
        return None, "missing, or no file of the job's own"
    if hashlib.sha256(data).hexdigest() != kept.sha256:
        return None, "altered since it was kept"
    return image_url(data), ""
