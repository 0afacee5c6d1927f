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
    known: bool = True  # somebody told the words; else they were heard, and nobody objected


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


def plain(words: str) -> str:
    """As the model's words are written: lower case, without punctuation between them."""
    spaced = re.sub(r"[^\w']+", " ", words.replace("\u2019", "'"))
    return " ".join(spaced.lower().split())
