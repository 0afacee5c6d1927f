"""Where the voices of this computer's technicians are: a folder each, beside the jobs."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.devices.joblog import jobs_folder
from fieldvoice.devices.whole_file import write_whole
from fieldvoice.ownvoice.voice_file import MOST_BYTES, Voice, from_bytes, to_bytes

FILE, LINES = "voice", "lines"
_LONGEST_NAME = 60


@dataclass(frozen=True)
class VoicePlace:
    """The folder of one voice: what was learned, and the lines that were recorded for it."""

    name: str
    folder: Path

    @property
    def file(self) -> Path:
        """What was learned."""
        return self.folder / FILE

    @property
    def lines(self) -> Path:
        """The folder of recorded lines."""
        return self.folder / LINES

    def read(self) -> Voice:
        """The voice. Raises VoiceError, or CommandError where there is none."""
        return from_bytes(self.data(), str(self.file))

    def data(self) -> bytes:
        """The file of what was learned. Raises CommandError where there is none."""
        try:
            with self.file.open("rb") as file:
                return file.read(MOST_BYTES)
        except FileNotFoundError:
            raise CommandError(f"no voice of {self.name}; {_known()}"
                               f"fieldvoice learn-voice {self.name} learns it") from None
        except OSError as error:
            raise CommandError(f"cannot read {self.file}: {error.strerror}") from None

    def keep(self, voice: Voice) -> None:
        """Write it, whole or not at all; else an earlier one stands. Raises CommandError."""
        try:
            self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            write_whole(self.file, to_bytes(voice), mode=0o600)
        except OSError as error:
            earlier = "; the voice learned earlier stays as it was" if self.file.is_file() else ""
            raise CommandError(f"cannot keep what was learned in {self.file}: {error.strerror}"
                               f"{earlier}. Make room there and run it again") from None

    def forget(self) -> None:
        """Remove what was learned and all recordings. Raises CommandError."""
        if not self.folder.is_dir() or self.folder.is_symlink():
            raise CommandError(f"no voice of {self.name} in {voices_folder()}; {_known()}"
                               "nothing was removed")
        shutil.rmtree(self.folder)


def voices_folder() -> Path:
    """Beside the folder of the jobs."""
    return jobs_folder().parent / "voices"


def place_of(name: str) -> VoicePlace:
    """The folder of a voice by its name. Raises CommandError for what is no name of a folder."""
    plain = name.strip()
    bad = set(plain) & set('/\\:*?"<>|') or not plain.isprintable() or plain.startswith((".", "-"))
    if not plain or bad or len(plain.encode()) > _LONGEST_NAME:
        raise CommandError(f"{name!r} is not a name for a voice; use a name like 'dana': letters, "
                           f"figures, spaces and dashes, {_LONGEST_NAME} at most")
    return VoicePlace(plain, voices_folder() / plain)


def all_places() -> list[VoicePlace]:
    """Every voice, learned or begun, by name."""
    try:
        folders = sorted(f for f in voices_folder().iterdir() if f.is_dir() and f.name[0] != ".")
    except (FileNotFoundError, NotADirectoryError):
        return []
    return [VoicePlace(folder.name, folder) for folder in folders]


def _known() -> str:
    names = ", ".join(place.name for place in all_places() if place.file.is_file())
    return f"known here: {names}; " if names else ""
