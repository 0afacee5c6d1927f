"""Seals: what a job's folder held when work stopped, kept beside the log and outside the folder.

`seal.json` in the folder, and the same line once more in seals.jsonl beside the jobs' folder: how
many lines the log had, the hash of the last, the procedures and how many clips. Each ends with its
own hash, as the lines of the log do. A log that has more lines was stopped without being closed.
"""

from __future__ import annotations

import errno
import hashlib
import os
import stat
from collections.abc import Iterator, Sequence
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

import msgspec

from fieldvoice.devices.joblog.folders import jobs_folder
from fieldvoice.devices.joblog.inside import open_plain
from fieldvoice.devices.joblog.lines import UNREADABLE, hash_fits, with_hash, written_utc
from fieldvoice.devices.whole_file import write_whole
from fieldvoice.errors import FieldvoiceError

SEAL_NAME = "seal.json"
REGISTER_NAME = "seals.jsonl"
OLD_SEAL = "seal-{}.json"  # one that no longer fitted when the log was mended
_LONGEST = 1 << 24  # bytes of a seal; each sound that no line names takes a hundred
_REGISTER_FLAGS = (os.O_RDWR | os.O_APPEND | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0)
                   | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))


class KeptFile(msgspec.Struct, frozen=True):
    """A file in the job's folder and the SHA-256 of its bytes."""

    file: str
    sha256: str


class Seal(msgspec.Struct, frozen=True):
    """What the folder held; its own hash stands behind it in the file."""

    v: int
    job: str
    folder: str  # whole path
    utc: str  # when
    why: str  # "created", "checkpoint", "stopped"
    lines: int  # of the log
    head: str  # hash of the last one; zeros where there is none
    first: str  # hash of the first one: which job this is, wherever its folder lies
    procedures: list[KeptFile]
    clips: int  # the job's own files in clips/
    loose: list[KeptFile]  # of these the ones that no line names: kept just before a stop


class OwnFiles(NamedTuple):
    """The job's own sounds: how many there are, and of these the ones that no line names."""

    clips: int = 0
    loose: Sequence[KeptFile] = ()


class SealBroken(FieldvoiceError):
    """A seal that is not as it was written."""


def seal_of(
    folder: Path, job: str, why: str, hashes: tuple[int, str, str], procedures: list[KeptFile],
    own: OwnFiles, at: datetime,
) -> Seal:
    """The seal of a folder now. `hashes`: number of lines, hash of the last and of the first one;
    `procedures`, `own`: as they were written, so that nothing else is vouched for.
    """
    lines, head, first = hashes
    return Seal(1, job, str(folder.resolve()), written_utc(at), why, lines, head, first,
                procedures, own.clips, list(own.loose))


def kept_procedures(folder: Path) -> list[KeptFile]:
    """The procedures in a folder as they are now."""
    return [kept_file(folder, name)
            for name in sorted(path.name for path in folder.glob("procedure*.txt"))]


def clip_names(folder: Path) -> list[str]:
    """The files in clips/, as lines name them."""
    try:
        return sorted(f"clips/{name}" for name in os.listdir(folder / "clips"))
    except (FileNotFoundError, NotADirectoryError):
        return []


def file_hash(path: Path) -> str:
    """SHA-256 of a plain file; a link is not followed. Raises OSError."""
    with open_plain(path) as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def kept_file(folder: Path, name: str) -> KeptFile:
    """A file as it is now."""
    try:
        return KeptFile(name, file_hash(folder / name))
    except OSError:  # a link, say: verifying tells it
        return KeptFile(name, "")


def write_seal(folder: Path, seal: Seal) -> None:
    """Put the seal into its folder: the old one or the new one is there, whole. Raises OSError."""
    write_whole(folder / SEAL_NAME, _line(seal))


def register(seal: Seal) -> None:
    """Write the seal down outside the folder too, never over a link. Raises OSError."""
    path = register_path()
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    fd = os.open(path, _REGISTER_FLAGS, 0o600)
    try:
        _refuse_what_is_no_register(path, os.fstat(fd))
        size = os.fstat(fd).st_size
        cut = size and os.pread(fd, 1, size - 1) != b"\n"  # a kill left half a line
        line = (b"\n" if cut else b"") + _line(seal)
        if os.write(fd, line) != len(line):  # in one go: others may write too
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(path))
        os.fsync(fd)
    finally:
        os.close(fd)


def _refuse_what_is_no_register(path: Path, found: os.stat_result) -> None:
    if not stat.S_ISREG(found.st_mode) or found.st_nlink > 1:
        raise OSError(errno.EMLINK, "it is no file, or has a second name elsewhere", str(path))


def _line(seal: Seal) -> bytes:
    return with_hash(msgspec.to_builtins(seal)) + b"\n"


def register_path() -> Path:
    """The file beside the jobs' folder that has a line for each seal."""
    return jobs_folder().parent / REGISTER_NAME


def read_seal(folder: Path) -> Seal | None:
    """The seal in a folder; None where there is none. Raises SealBroken."""
    try:
        with open_plain(folder / SEAL_NAME) as file:
            raw = file.read(_LONGEST + 1)
        if len(raw) > _LONGEST:
            raise ValueError("it is longer than any seal")
        return _read(raw.rstrip(b"\n"))
    except (FileNotFoundError, NotADirectoryError):
        return None
    except (OSError, *UNREADABLE) as error:
        raise SealBroken(str(error)) from None


def _read(line: bytes) -> Seal:
    if not hash_fits(line):
        raise ValueError("it was changed after it was written")
    return msgspec.json.decode(line, type=Seal)


def registered(folder: Path | None = None) -> Iterator[Seal]:
    """The seals of one folder, or all, that the register has, oldest first; broken lines left out.
    """
    wanted = b"" if folder is None else msgspec.json.encode(_told(folder))
    for line in _register_lines():
        if wanted in line:
            try:
                yield _read(line)
            except UNREADABLE:
                continue


def _register_lines() -> Iterator[bytes]:
    """Line by line: the register grows for ever, and may be anything by now."""
    try:
        with open_plain(register_path()) as file:
            while line := file.readline(_LONGEST):
                yield line.rstrip(b"\n")
    except OSError:
        return


def _told(folder: Path) -> str:
    return str(folder.resolve()).encode("utf-8", "replace").decode("utf-8")


def broken_register_lines() -> list[int]:
    """Numbers of the register's lines that are not as they were written."""
    return [number for number, line in enumerate(_register_lines(), 1)
            if line and not hash_fits(line)]


def register_trouble() -> str:
    """Why the register cannot be read; "" where it can be, or where there is none."""
    try:
        with open_plain(register_path()):
            return ""
    except FileNotFoundError:
        return ""
    except OSError as error:
        return f"cannot be read ({error.strerror}): jobs that are gone cannot be told"
