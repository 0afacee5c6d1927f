"""Recorded noise for measuring only; never for training, and not kept in the repository.

A folder of folders of sound files, each folder a condition ("recorded machines 10"). Made from

- Debian's openttd-opensfx (CC BY-SA 3.0 as a whole; the single recordings CC BY 3.0, CC BY-SA 3.0
  or CC0): `python -m fieldvoice.training.evaluate.conditions.recordings opensfx.cat DIR/machines`
- Debian's asterisk-moh-opsound-g722 (CC BY-SA 3.0): its moh/*.g722 copied to DIR/music
"""

from __future__ import annotations

import hashlib
import io
import struct
import sys
from collections.abc import Iterable
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from fieldvoice.training.evaluate.conditions.site_sounds import Maker, Sound, recorded
from fieldvoice.training.evaluate.human_numbers import decoded

KINDS = {".wav", ".ogg", ".flac", ".mp3", ".g722"}
WANTED = (  # of the sounds in opensfx.cat: those that go on, as they begin
    "Propeller plane start", "Mining machinery", "Helicopter", "Truck/old bus start, pull away\"",
    "Modern bus start", "Old bus start", "Applause", "Jackhammer", "Building bridge", "Sawmill",
    "Heavy wind", "Lumber mill: Falling tree", "Lumber mill: Chainsaw", "Mach 1+ Jet take off",
    "Monorail train station departure",
)  # fmt: skip
AUDIBLE = 0.02  # of the peak: quieter beginnings and ends are cut off


def read(folder: Path) -> dict[str, Maker]:
    """The makers of noise by condition name; FileNotFoundError for a folder without any sound."""
    found = {
        f"recorded {one.name}": recorded([_trimmed(decoded(path)) for path in files(one)])
        for one in sorted(folder.iterdir()) if one.is_dir() and files(one)
    }  # fmt: skip
    if not found:
        raise FileNotFoundError(f"no folder of sound files in {folder}: see {__name__}")
    return found


def files(folder: Path) -> list[Path]:
    """The sound files of a folder, in name order."""
    return sorted(path for path in folder.iterdir() if path.suffix.lower() in KINDS)


def digest(talk: Iterable[NDArray[np.int16]], folder: Path | None) -> str:
    """Of the talk and the recordings below a folder: with others the results are other results."""
    whole = hashlib.sha256()
    for sound in talk:
        whole.update(sound.tobytes())
    for path in sorted(path for path in (folder.rglob("*") if folder else ()) if path.is_file()):
        whole.update(path.read_bytes())
    return whole.hexdigest()[:12]


def _trimmed(sound: Sound) -> Sound:
    loud = np.flatnonzero(np.abs(sound) > AUDIBLE * np.abs(sound).max())
    return sound[loud[0] : loud[-1] + 1]


def unpack(cat: bytes) -> dict[str, tuple[NDArray[np.float64], int]]:
    """The wanted sounds of a .cat file, by title, with their sampling rates.

    It begins with pairs of 32-bit numbers, place and length of each sound; at its place stand a
    length byte, a title, and a RIFF file.
    """
    found = {}
    (table,) = struct.unpack_from("<I", cat)
    for entry in range(0, table & 0x7FFFFFFF, 8):
        place, length = struct.unpack_from("<II", cat, entry)
        place &= 0x7FFFFFFF
        title = cat[place + 1 : place + 1 + cat[place]].decode("utf-8", "replace")
        riff = cat.find(b"RIFF", place)
        if title.startswith(tuple(f'"{wanted}' for wanted in WANTED)):
            found[title] = soundfile.read(io.BytesIO(cat[riff : riff + length]))
    return found


def main() -> None:
    """Unpack the file of the first argument into the folder of the second."""
    cat, out = Path(sys.argv[1]), Path(sys.argv[2])
    out.mkdir(parents=True, exist_ok=True)
    for title, (sound, rate) in unpack(cat.read_bytes()).items():
        name = "".join(c if c.isalnum() else "_" for c in title.split('"')[1])
        soundfile.write(out / f"{name}.wav", sound, rate)
        print(title)


if __name__ == "__main__":
    main()
