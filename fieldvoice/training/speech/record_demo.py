"""Speak recordings_demo/*/job.toml into sound: `python -m fieldvoice.training.speech.record_demo`.

Training never heard these voices; `noise = "vacuum pump 10 dB"` puts that machine under a line.
"""

from __future__ import annotations

import argparse
import random
import tomllib
import zlib
from pathlib import Path
from typing import Any

import numpy as np
import soundfile

from fieldvoice.training.speech import noise, sentences, voices
from fieldvoice.training.speech.symbols import HELD_OUT
from fieldvoice.training.speech.synthesize import choose_phones

KEYS = ("file", "again", "yes")
MARGIN_S = 0.4
ROOM_TONE = 6.0  # root mean square of the quiet behind a line without machine noise, int16 scale


class Cast:
    """The voices by name, each loaded once."""

    def __init__(self, data: Path) -> None:
        self.data, self.loaded = data, dict[str, voices.Synthesizer]()
        self.lexicon = sentences.lexicon()

    def voice(self, name: str) -> voices.Synthesizer:
        """A held-out Kokoro voice by its name, or the Piper voice."""
        if name not in self.loaded:
            kokoro = name in HELD_OUT
            self.loaded[name] = (
                voices.Kokoro(self.data / "kokoro", set(), {name}, pace=(0.92, 1.12))
                if kokoro
                else voices.Piper(self.data / "piper")
            )
        return self.loaded[name]

    def say(self, name: str, line: str, seed: int) -> np.ndarray:
        """Sound of the line, int16 at 16 kHz."""
        words, rng = line.split(), random.Random(seed)
        phones = choose_phones(words, self.lexicon, rng, first_only=True)
        return voices.to_pcm(self.voice(name)(words, phones, rng).sound)


def with_background(speech: np.ndarray, about: str, seed: int) -> np.ndarray:
    """Put the machine that `about` names ("fan 10 dB") or a quiet room behind the speech."""
    if about:
        machine, decibels, _ = about.rsplit(" ", 2)
        return noise.with_noise(speech, machine, float(decibels), seed, MARGIN_S)
    padded = np.pad(speech.astype(np.float64), int(MARGIN_S * noise.RATE))
    padded += np.random.default_rng(seed).normal(0, ROOM_TONE, len(padded))
    return padded.round().clip(-32768, 32767).astype(np.int16)


def sound_of(folder: Path, line: dict[str, Any], key: str, cast: Cast) -> np.ndarray:
    """A line's "file", "again" or "yes" as int16; `take` and so on choose the reading."""
    take = line.get("take" if key == "file" else f"{key}-take", 1)
    seed = zlib.crc32(f"{folder.name}/{line[key]}/{take}".encode())
    speech = cast.say(line["voice"], "yes" if key == "yes" else line["text"], seed)
    return with_background(speech, "" if key == "yes" else line.get("noise", ""), seed)


def record(folder: Path, cast: Cast, missing: bool = False) -> int:
    """Write every line's files, or those alone that are missing; returns how many."""
    lines = tomllib.loads((folder / "job.toml").read_text("utf-8"))["line"]
    files = {line[key]: (line, key) for line in lines for key in KEYS if key in line
             if not (missing and (folder / line[key]).exists())}
    for line, key in files.values():  # a file may serve several lines
        sound = sound_of(folder, line, key, cast)
        soundfile.write(folder / line[key], sound, noise.RATE, subtype="PCM_16")
    return len(files)


def main() -> None:
    """Read the arguments."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument(
        "--data", type=Path, required=True, help="folder with kokoro/ and piper/ models"
    )
    parser.add_argument("--recordings", type=Path, default=Path("recordings_demo"))
    parser.add_argument("--missing", action="store_true", help="leave the files that are there")
    a = parser.parse_args()
    cast = Cast(a.data)
    for path in sorted(a.recordings.glob("*/job.toml")):
        print(f"{path.parent.name}: {record(path.parent, cast, a.missing)} lines")


if __name__ == "__main__":
    main()
