"""A file that is written whole or not at all: whoever looks finds the old one or the new one."""

from __future__ import annotations

import contextlib
import os
import secrets
import sys
from pathlib import Path


def write_whole(path: Path, data: bytes, *, mode: int = 0o666, new: bool = False) -> None:
    """Write a file, replacing the one of that name: on disk when this returns.

    Written beside it under another name first, and renamed once that is on disk. A symbolic link of
    that name is replaced, never followed. `mode`: permissions, less what the umask takes. `new`:
    replace nothing, not even a broken link; raises FileExistsError. Raises OSError that names
    `path`; what stood there before then still stands, and nothing half written is left.
    """
    partial = path.with_name(f".{path.name[:100]}.{secrets.token_hex(6)}.part")
    try:
        _write_new(partial, data, mode)
        _rename_new(partial, path) if new else partial.replace(path)
        sync_folder(path.parent)
    except BaseException as error:
        with contextlib.suppress(OSError):
            partial.unlink()
        if isinstance(error, OSError):
            raise type(error)(error.errno, error.strerror or str(error), str(path)) from None
        raise


def _write_new(path: Path, data: bytes, mode: int) -> None:
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    with open(os.open(path, flags, mode), "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _rename_new(partial: Path, path: Path) -> None:
    """Rename where nothing has that name: it is taken first, by a file that only one can make."""
    os.close(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600))
    try:
        partial.replace(path)
    except BaseException:
        path.unlink()
        raise


def sync_folder(folder: Path) -> None:
    """Make new names in a folder last; systems without folder handles do it themselves."""
    if sys.platform != "win32":
        fd = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(fd)
        finally:
            os.close(fd)
