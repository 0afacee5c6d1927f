"""Lines of one speaker with their words: from a folder of sound files, or from reviewed jobs."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldvoice.commands.wiring.errors import CommandError

LIST = "lines.txt"
MOST_LINES = 400  # more are not needed, and would take longer than five minutes
_LISTED = re.compile(r"(\S+)\s+(\S.*)")


@dataclass(frozen=True)
class SpokenLine:
    """What was said, as int16 samples at 16 kHz and as words."""

    sound: NDArray[np.int16]
    words: str
    where: str  # the file


def from_folder(folder: Path, skipped: list[str]) -> list[SpokenLine]:
    """The sounds that lines.txt in a folder lists, each line FILE WORDS.

    What cannot be used joins `skipped`. Raises CommandError where there is no list.
    """
    from fieldvoice.devices.soundfile import SoundFileError, read_sound

    found = []
    for name, words in _listed(folder):
        path = folder / name
        if Path(name).name != name:
            skipped.append(f"{name}: {LIST} names files of its own folder only")
            continue
        try:
            found.append(SpokenLine(read_sound(path), plain(words), str(path)))
        except SoundFileError as error:
            skipped.append(str(error))
    return found


def _listed(folder: Path) -> Iterator[tuple[str, str]]:
    path = folder / LIST
    try:
        text = path.read_text("utf-8-sig")
    except FileNotFoundError:
        raise CommandError(f"no {path}: it lists the sounds of the folder, a line each, such as "
                           "'01.wav vacuum four hundred twelve microns'") from None
    except (OSError, UnicodeDecodeError) as error:
        raise CommandError(f"cannot read {path}: {error}") from None
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        if (match := _LISTED.fullmatch(line.strip())) is None:
            raise CommandError(f"{path}, line {number}: {line.strip()!r} has no words; write a "
                               "file's name and the words that are said in it")
        yield match[1], match[2]


def from_job(folder: Path, skipped: list[str]) -> list[SpokenLine]:
    """Spoken lines of a job that a reviewer marked as right, or wrote the right words to.

    A lossy job is taken as far as it proves itself. Raises JobLogError where there is no job.
    """
    from fieldvoice.devices.joblog import JobLogError, clip_path, read_log
    from fieldvoice.devices.soundfile import SoundFileError, read_sound
    from fieldvoice.jobstate.events import LineHeard, LineReviewed

    entries = read_log(folder).entries
    marks = {x.event.line: x.event for x in entries if isinstance(x.event, LineReviewed)}
    found = []
    for entry in entries:
        mark, heard = marks.get(entry.seq), entry.event
        if mark is None or not isinstance(heard, LineHeard) or heard.clip is None:
            continue
        words = heard.words if mark.right else mark.words
        if not words:
            continue
        try:
            path = clip_path(folder, heard.clip)
            found.append(SpokenLine(read_sound(path), plain(words), str(path)))
        except (JobLogError, SoundFileError) as error:
            skipped.append(str(error))
    return found


def plain(words: str) -> str:
    """As the model's words are written: lower case, without punctuation between them."""
    spaced = re.sub(r"[^\w']+", " ", words.replace("\u2019", "'"))
    return " ".join(spaced.lower().split())
