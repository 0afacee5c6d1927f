"""The sound of lines in a page: compressed and within it, or linked where it lies.

MP3 (16 kHz mono, as many bits as the sound needs, about 18 kbit/s) and not Opus: libsndfile writes
both, but every browser and phone of the last ten years and more plays MP3, while iPhones play Ogg
Opus from iOS 18.4 on only (from memory); it is seven times as fast to write, and three seconds are
7 kB. A constant rate takes 40 % longer to write and a third more room.
"""

from __future__ import annotations

import hashlib
import io
import wave
from base64 import b64encode
from collections.abc import Callable, Iterable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from datetime import tzinfo
from pathlib import Path
from urllib.parse import quote

from fieldvoice.devices.joblog import JobLogError, clip_path, read_inside
from fieldvoice.errors import FieldvoiceError
from fieldvoice.jobstate.events import Entry, LineHeard

EMBEDDED, LINKED, LEFT_OUT = "embedded", "linked", "left-out"  # modes
_LEVEL = 0.8  # of libsndfile; 0.9 saves 2 % more only, and sounds worse
_LEFT_OUT_WORDS = "left out of this page"
_WORDS = 80  # letters of what was said that a button's name repeats


def _unheeded(path: str) -> None:
    """Nobody collects the sounds of the page."""


@dataclass(frozen=True)
class Clip:
    """The sound of a line."""

    path: str  # as the log has it
    url: str | None  # "#" and its path: within the page; None: it is named, not played
    label: str = ""  # what is heard in it: "four twelve microns, 10:14"
    missing: str = ""  # why it cannot be played
    _shown: Callable[[str], None] = field(default=_unheeded, repr=False, compare=False)

    @property
    def left_out(self) -> bool:
        """The page has no sounds: it says so once."""
        return self.missing == _LEFT_OUT_WORDS

    @property
    def name(self) -> str:
        """What it is called where it is played."""
        return self.label or self.path

    @property
    def source(self) -> str:
        """Its URL, for the page that plays it; what is within the page is embedded from then on."""
        self._shown(self.path)
        return self.url or ""


class UnfitSound(FieldvoiceError):
    """A clip that cannot be played; the message says why, in a few words."""


def sound_url(folder: Path, clip: str, mode: str) -> str:
    """The sound at a path in a job's folder as a `data:` URI, or a link to where it lies.

    Raises UnfitSound.
    """
    kept = read_clip(folder, clip)
    return _data_uri(kept) if mode == EMBEDDED else f"{folder.resolve().as_uri()}/{quote(clip)}"


def read_clip(folder: Path, clip: str) -> bytes:
    """The bytes of a clip that lies in the job's folder itself. Raises UnfitSound."""
    try:
        return read_inside(folder, clip_path(folder, clip).relative_to(folder).as_posix())
    except JobLogError:
        there = not set(clip) & set("\0\\") and (folder / clip).exists()
        why = "not read, as it is no file of the job's own" if there else "missing"
        raise UnfitSound(why) from None


def _checked(sound: bytes, heard: LineHeard | None) -> None:
    """Raise UnfitSound where it is no sound, or not the one that was heard."""
    told = getattr(heard, "clip_sha256", None)
    if told is not None and hashlib.sha256(sound).hexdigest() != told:
        raise UnfitSound("altered since it was kept")
    try:
        with wave.open(io.BytesIO(sound)) as found:
            found.getparams()
    except (wave.Error, EOFError):
        raise UnfitSound("not a sound file") from None


def _data_uri(sound: bytes) -> str:
    return f"data:audio/mpeg;base64,{b64encode(compressed(sound)).decode('ascii')}"


def compressed(sound: bytes) -> bytes:
    """A WAV file as MP3, about 2 kB a second. Raises UnfitSound."""
    import soundfile

    out = io.BytesIO()
    try:
        samples, rate = soundfile.read(io.BytesIO(sound), dtype="int16", always_2d=True)
        soundfile.write(out, samples[:, 0], rate, format="MP3", subtype="MPEG_LAYER_III",
                        bitrate_mode="VARIABLE", compression_level=_LEVEL)
    except (RuntimeError, ValueError) as error:  # soundfile's own are RuntimeErrors
        raise UnfitSound(f"cannot be compressed: {error}") from None
    return out.getvalue()


class PageSounds:
    """The clips of a job for one page; each is within it once, however often it is played."""

    def __init__(
        self, folder: Path, entries: Iterable[Entry], mode: str = EMBEDDED, at: str = "",
        zone: tzinfo | None = None,
    ) -> None:
        """`at`: URL that linked clips are found under; "" where the page lies in the folder.

        `zone`: of the times in their names; None as they are in the entries.
        """
        self.folder, self.mode, self._at = folder, mode, at
        self._lines: dict[str, tuple[str, LineHeard]] = {}
        for entry in entries:
            if isinstance(entry.event, LineHeard) and entry.event.clip:
                at_zone = entry.at if zone is None else entry.at.astimezone(zone)
                self._lines[entry.event.clip] = f"{at_zone:%H:%M}", entry.event
        self._found: dict[str, Clip] = {}
        self._used: dict[str, None] = {}

    def clip(self, path: str | None) -> Clip | None:
        """The sound at a path; what is missing or altered says so."""
        if not path:
            return None
        if path not in self._found:
            self._found[path] = self._look(path)
        return self._found[path]

    def _look(self, path: str) -> Clip:
        time, line = self._lines.get(path, ("", None))
        label = "" if line is None else ", ".join(filter(None, (_short(line.words), time)))
        if self.mode == LEFT_OUT:
            return Clip(path, None, label, _LEFT_OUT_WORDS)
        try:
            _checked(read_clip(self.folder, path), line)
        except UnfitSound as error:
            return Clip(path, None, label, str(error))
        if self.mode == LINKED:
            return Clip(path, f"{self._at}{quote(path)}", label)
        return Clip(path, f"#{path}", label, _shown=lambda used: self._used.update({used: None}))

    def faults(self) -> list[str]:
        """Every clip of the log that cannot be played, and why; none where they are left out."""
        if self.mode == LEFT_OUT:
            return []
        every = [clip for path in self._lines if (clip := self.clip(path)) is not None]
        return [f"the sound {clip.path} is {clip.missing}" for clip in every if clip.missing]

    def embedded(self) -> Mapping[str, str]:
        """"#" and path -> data: URI of what the page plays; ask once it is made."""
        with ThreadPoolExecutor() as pool:  # libsndfile lets other threads run meanwhile
            found = dict(zip(self._used, pool.map(self._embed, self._used), strict=True))
        return {f"#{path}": uri for path, uri in found.items() if uri}

    def _embed(self, path: str) -> str:
        try:
            return sound_url(self.folder, path, EMBEDDED)
        except UnfitSound:
            return ""  # its button says so when it is pressed


def _short(words: str) -> str:
    return words if len(words) <= _WORDS else f"{words[:_WORDS]}…"
