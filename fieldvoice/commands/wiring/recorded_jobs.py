"""Recorded jobs: folders of sound with a job.toml that says when each line comes, and its text.

title = "An invented job"
procedure = "evacuate-and-release"      # a name, or a file beside job.toml
start = 2026-03-02T09:00:00-05:00   # optional
[site]                              # what the procedure is told about the place
[[line]]
file = "01.flac"                    # without a file, `at` alone lets time pass; may serve again
text = "four hundred twelve microns"
at = "+40s"                         # since the line before
voice = "who speaks"
noise = "what else sounds"
take = 2                            # which reading of the synthetic voice was kept; optional
again = "01-again.flac"             # the same once more, where it was not taken; optional
yes = "yes-1.flac"                  # the answer where it was rightly heard but asked back; optional
[[line]]
typed = "445 psig"                  # a line by the keys
at = "+10s"
[[line]]
stopped = "1h 10min"                # the work stops here and goes on so much later, from the disk
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from importlib import resources
from pathlib import Path
from typing import Any

from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.commands.wiring.simulated_time import span

USUAL_GAP = "+5s"
_SOUNDS = ("file", "again", "yes")
_TEXTS = {*_SOUNDS, "text", "at", "voice", "noise", "typed", "stopped"}
_KEYS = {*_TEXTS, "take", "again-take", "yes-take"}


@dataclass(frozen=True)
class RecordedLine:
    """A line to be heard, or only time that passes."""

    gap: timedelta
    sound: Path | None = None
    text: str = ""  # what is said; what is heard is compared with it
    about: str = ""  # voice and noise
    again: Path | None = None  # the same once more, where the first time was not enough
    yes: Path | None = None  # the answer where the line was heard and asked back
    typed: str = ""  # what is typed, in place of a sound
    stopped: timedelta | None = None  # how long the work stops for after this line


@dataclass(frozen=True)
class RecordedJob:
    """A job to be heard from end to end."""

    name: str
    title: str
    procedure: str
    start: datetime
    site: Mapping[str, str]
    lines: tuple[RecordedLine, ...]


def shipped_jobs() -> list[Path]:
    """Folders of the recordings that come with Fieldvoice. Raises CommandError without any."""
    root = Path(str(resources.files("fieldvoice.recordings_demo")))
    found = sorted(path.parent for path in root.glob("*/job.toml"))
    if not found:
        raise CommandError(f"no recordings in {root}; install Fieldvoice again")
    return found


def read_job(folder: Path) -> RecordedJob:
    """Read job.toml and check that its sounds exist. Raises CommandError."""
    path = folder / "job.toml"
    try:
        found = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise CommandError(f"cannot read {path}: {error}") from None
    missing = [key for key in ("title", "procedure", "line") if key not in found]
    if missing:
        raise CommandError(f"{path}: {missing[0]!r} is missing")
    lines, site = found["line"], found.get("site", {})
    if not isinstance(lines, list) or not all(isinstance(line, dict) for line in lines):
        raise CommandError(f"{path}: begin each line with [[line]]")
    if not isinstance(site, dict):
        raise CommandError(f"{path}: write what is known of the place under [site]")
    beside = folder / str(found["procedure"])
    return RecordedJob(
        name=folder.name,
        title=str(found["title"]),
        procedure=str(beside) if beside.is_file() else str(found["procedure"]),
        start=_start(found.get("start"), path),
        site={str(k): str(v) for k, v in site.items()},
        lines=tuple(_line(n, line, path) for n, line in enumerate(lines, start=1)),
    )


def _start(found: Any, path: Path) -> datetime:
    if found is None:
        return datetime.now().astimezone().replace(microsecond=0)
    if not isinstance(found, datetime):
        raise CommandError(f"{path}: start must be a date with a time")
    return found if found.tzinfo else found.astimezone()


def _line(number: int, found: Mapping[str, Any], path: Path) -> RecordedLine:
    where = f"{path}, line table {number}"
    unknown = set(found) - _KEYS
    if unknown:
        raise CommandError(f"{where}: unknown key {sorted(unknown)[0]!r}; known: {sorted(_KEYS)}")
    wrong = [key for key in found if key in _TEXTS and not isinstance(found[key], str)]
    if wrong:
        raise CommandError(f"{where}: write {wrong[0]} as text in quotes, not {found[wrong[0]]!r}")
    sounds = [path.parent / found[key] if key in found else None for key in _SOUNDS]
    for sound in sounds:
        if sound is not None and not sound.is_file():
            raise CommandError(f"{where}: no sound file {sound}")
    if sounds[0] is not None and not found.get("text"):
        raise CommandError(f"{where}: a sound needs the text that is said in it")
    about = ", ".join(str(found[key]) for key in ("voice", "noise") if found.get(key))
    text = found.get("text", "")
    gap = span(found.get("at", USUAL_GAP))
    stopped = span(found["stopped"]) if "stopped" in found else None
    typed = str(found.get("typed", ""))
    return RecordedLine(gap, sounds[0], text, about, sounds[1], sounds[2], typed, stopped)
