"""The lines that a technician recorded: a WAV file each, and a list of their words."""

from __future__ import annotations

import shutil
from importlib.resources import files
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldvoice.commands.wiring.voices.spoken_lines import LIST, SpokenLine, from_folder
from fieldvoice.devices.joblog.clips import wav
from fieldvoice.devices.whole_file import write_whole

HEAD = "# What was recorded to learn a voice: a file and its words each line.\n"


def prompts() -> list[str]:
    """The lines to read aloud, the most useful ones first."""
    text = (files("fieldvoice.grammar") / "voice-lines.txt").read_text("utf-8")
    return [line for line in text.splitlines() if line and not line.startswith("#")]


class Recordings:
    """The folder of recorded lines of a voice."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def lines(self, skipped: list[str]) -> list[SpokenLine]:
        """All that were recorded; what cannot be read joins `skipped`."""
        return from_folder(self.folder, skipped) if (self.folder / LIST).is_file() else []

    def missing(self) -> list[str]:
        """Prompts that were not recorded yet."""
        done = {line.words for line in self.lines([])}
        return [prompt for prompt in prompts() if prompt not in done]

    def keep(self, words: str, sound: NDArray[np.int16]) -> None:
        """Keep a line on disk; one of the same words is replaced. Raises OSError."""
        self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        name = f"{prompts().index(words) + 1:03d}.wav"
        write_whole(self.folder / name, wav(sound.astype("<i2").tobytes()), mode=0o600)
        listed = self._listed() | {name: words}
        text = "".join(f"{file} {said}\n" for file, said in sorted(listed.items()))
        write_whole(self.folder / LIST, (HEAD + text).encode(), mode=0o600)

    def remove(self) -> None:
        """Remove the sounds."""
        shutil.rmtree(self.folder, ignore_errors=True)

    def _listed(self) -> dict[str, str]:
        try:
            text = (self.folder / LIST).read_text("utf-8")
        except FileNotFoundError:
            return {}
        pairs = (line.partition(" ") for line in text.splitlines() if line[:1] not in ("#", ""))
        return {file: said for file, _, said in pairs}
