"""The newest photo of a watched folder, copied into the job when a line asks for it."""

from __future__ import annotations

import hashlib
import time
from collections.abc import Callable
from pathlib import Path

from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.devices.joblog import JobLogError
from fieldvoice.devices.joblog.attachments import keep_attachment
from fieldvoice.jobstate.attachment import KeptFile, NoPhoto

PICTURES = (".jpg", ".jpeg", ".png", ".webp", ".heic")
_SETTLED_S = 0.3  # a file that does not grow for so long has arrived
_WAIT_S = 3.0  # for one that still grows
_State = tuple[int, int]  # length, and when it was changed


class Photos:
    """Watches a folder from now on; a photo that lay there before is not taken for a new one."""

    def __init__(
        self, watched: Path, folder: Path, sleep: Callable[[float], None] = time.sleep
    ) -> None:
        """`folder`: the job's. Raises CommandError where `watched` is no folder."""
        if not watched.is_dir():
            raise CommandError(f"--photos {watched} is no folder; name the one where photos arrive")
        self._watched, self._folder, self._sleep = watched, folder, sleep
        self._known = self._there()

    def newest(self, known: frozenset[str]) -> KeptFile:
        """Copy the newest new photo, whose SHA-256 is none of `known`, into the job's folder.

        Raises NoPhoto with what is said of it.
        """
        new = {path: state for path, state in self._there().items()
               if self._known.get(path) != state}
        for path in sorted(new, key=lambda path: new[path][1], reverse=True):
            state = self._arrived(path)
            if _sha256(path) not in known:
                kept = self._keep(path)
                self._known[path] = state
                return kept
        raise NoPhoto("No new photo has arrived yet. Say photo again when it has.")

    def _there(self) -> dict[Path, _State]:
        try:
            return {path: _state(path) for path in self._watched.iterdir()
                    if path.suffix.lower() in PICTURES and not path.name.startswith(".")
                    and path.is_file() and not path.is_symlink()}
        except OSError:
            return {}

    def _arrived(self, path: Path) -> _State:
        """Its state once it grows no more."""
        waited, before = 0.0, _state(path)
        while waited < _WAIT_S:
            self._sleep(_SETTLED_S)
            waited += _SETTLED_S
            if (now := _state(path)) == before and now[0] > 0:
                return now
            before = now
        raise NoPhoto("A photo is still arriving. Say photo again in a moment.")

    def _keep(self, path: Path) -> KeptFile:
        try:
            return KeptFile(*keep_attachment(self._folder, path))
        except JobLogError as error:
            raise NoPhoto(f"The photo is not kept: {error}.") from None


def _state(path: Path) -> _State:
    try:
        found = path.stat()
    except OSError:
        return 0, 0
    return found.st_size, found.st_mtime_ns


def _sha256(path: Path) -> str:
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError as error:
        raise NoPhoto(f"The photo cannot be read: {error.strerror}.") from None
