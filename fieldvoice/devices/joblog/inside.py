"""Files that a log names, read only where they really lie in its job's folder."""

from __future__ import annotations

import errno
import os
import stat
from io import BufferedReader
from pathlib import Path, PurePosixPath

from fieldvoice.devices.joblog.lines import JobLogError

_NO_LINK = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0) | getattr(os, "O_NONBLOCK", 0)


def clip_path(folder: Path, name: str) -> Path:
    """Where the sound of a line lies, by the name that the log has for it ("clips/000012.wav").

    A log may have been changed by anybody: see path_inside. Raises JobLogError.
    """
    if PurePosixPath(name).parts[:1] != ("clips",):
        raise JobLogError(f"{name!r} is no clip of the job in {folder}: clips lie in its folder "
                          "clips; the log was changed")
    return path_inside(folder, name)


def path_inside(folder: Path, name: str) -> Path:
    """The path of a file in a job's folder, by the name that its log has for it.

    Raises JobLogError for one that leads out of the folder, that is not there, or that is reached
    over a link: a symbolic one anywhere below the folder, or a second name of the same file.
    """
    parts = PurePosixPath(name).parts
    if not parts or any(part == ".." or set(part) & set('/\\:\0') for part in parts):
        raise JobLogError(f"{name!r} leads out of the job in {folder}; it is not read, and the log "
                          "was changed")
    path = folder
    for part in parts:
        path = path / part
        _refuse_link(path)
    if not path.is_file():
        raise JobLogError(f"{path} is no file; restore it from a copy")
    return path


def read_inside(folder: Path, name: str) -> bytes:
    """The bytes of a file that a log names, as path_inside finds it. Raises JobLogError."""
    path = path_inside(folder, name)
    try:
        with open(os.open(path, os.O_RDONLY | _NO_LINK), "rb") as file:
            return file.read()
    except OSError as error:
        raise JobLogError(f"cannot read {path}: {error.strerror}; check its permissions") from None


def open_plain(path: Path) -> BufferedReader:
    """A file opened for reading; a link is not followed, a pipe not waited for. Raises OSError."""
    fd = os.open(path, os.O_RDONLY | _NO_LINK)
    if not stat.S_ISREG(os.fstat(fd).st_mode):
        os.close(fd)
        raise OSError(errno.EINVAL, "it is no file but a folder or a pipe", str(path))
    return open(fd, "rb")


def refuse_link(path: Path) -> None:
    """Raise JobLogError where a path of a job is a link, or a second name of a file."""
    _refuse_link(path, missing_too=False)


def _refuse_link(path: Path, *, missing_too: bool = True) -> None:
    try:
        found = path.lstat()
    except (OSError, ValueError) as error:
        if not missing_too and isinstance(error, FileNotFoundError):
            return
        why = error.strerror if isinstance(error, OSError) else str(error)
        raise JobLogError(f"cannot read {path}: {why}; restore it from a copy") from None
    if stat.S_ISLNK(found.st_mode):
        raise JobLogError(f"{path} is a symbolic link, which is not followed in a job's folder; "
                          "put the file itself there, and look who made the link")
    if stat.S_ISREG(found.st_mode) and found.st_nlink > 1:
        raise JobLogError(f"{path} has a second name elsewhere (a hard link), by which it can be "
                          "changed unseen; copy the job's folder, and go on with the copy")
