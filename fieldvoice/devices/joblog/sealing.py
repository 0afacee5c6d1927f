"""Seals: what a job's folder held when work stopped, kept beside the log and outside the folder.

`seal.json` in the folder, and the same line once more in seals.jsonl beside the jobs' folder: how
many lines the log had, the hash of the last, the procedures and how many clips. Each ends with its
own hash, as the lines of the log do. A log that has more lines was stopped without being closed.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterable, Iterator
from datetime import datetime
from pathlib import Path

import msgspec

from fieldvoice.devices.joblog.folders import jobs_folder
from fieldvoice.devices.joblog.lines import UNREADABLE, hash_fits, with_hash, written_utc
from fieldvoice.errors import FieldvoiceError

SEAL_NAME = "seal.json"
REGISTER_NAME = "seals.jsonl"
OLD_SEAL = "seal-{}.json"  # one that no longer fitted when the log was mended


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
    clips: int  # files in clips/
    loose: list[KeptFile]  # of these the ones that no line names: kept just before a stop


class SealBroken(FieldvoiceError):
    """A seal that is not as it was written."""


def seal_of(
    folder: Path, job: str, why: str, hashes: tuple[int, str, str], named: set[str], at: datetime
) -> Seal:
    """The seal of a folder now. `hashes`: number of lines, hash of the last and of the first one;
    `named`: the clips that lines name. Raises OSError.
    """
    lines, head, first = hashes
    clips = clip_names(folder)
    texts = sorted(path.name for path in folder.glob("procedure*.txt"))
    return Seal(1, job, str(folder.resolve()), written_utc(at), why, lines, head, first,
                [_kept(folder, name) for name in texts], len(clips),
                [_kept(folder, name) for name in clips if name not in named])


def clip_names(folder: Path) -> list[str]:
    """The files in clips/, as lines name them."""
    try:
        return sorted(f"clips/{name}" for name in os.listdir(folder / "clips"))
    except (FileNotFoundError, NotADirectoryError):
        return []


def file_hash(path: Path) -> str:
    """SHA-256 of a plain file; a link is not followed. Raises OSError."""
    fd = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
                 | getattr(os, "O_BINARY", 0))
    with os.fdopen(fd, "rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _kept(folder: Path, name: str) -> KeptFile:
    try:
        return KeptFile(name, file_hash(folder / name))
    except OSError:  # a link, say: verifying tells it
        return KeptFile(name, "")


def write_seal(folder: Path, seal: Seal) -> None:
    """Put the seal into its folder: the old one or the new one is there, whole. Raises OSError."""
    new = folder / f"{SEAL_NAME}.new"
    with new.open("wb") as file:
        file.write(_line(seal))
        file.flush()
        os.fsync(file.fileno())
    new.replace(folder / SEAL_NAME)


def register(seal: Seal) -> None:
    """Write the seal down outside the folder too. Raises OSError."""
    path = register_path()
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    fd = os.open(path, os.O_RDWR | os.O_APPEND | os.O_CREAT, 0o600)
    try:
        size = os.fstat(fd).st_size
        cut = size and os.pread(fd, 1, size - 1) != b"\n"  # a kill left half a line
        os.write(fd, (b"\n" if cut else b"") + _line(seal))  # at once: others may write too
        os.fsync(fd)
    finally:
        os.close(fd)


def _line(seal: Seal) -> bytes:
    return with_hash(msgspec.to_builtins(seal)) + b"\n"


def register_path() -> Path:
    """The file beside the jobs' folder that has a line for each seal."""
    return jobs_folder().parent / REGISTER_NAME


def read_seal(folder: Path) -> Seal | None:
    """The seal in a folder; None where there is none. Raises SealBroken."""
    try:
        return _read((folder / SEAL_NAME).read_bytes().rstrip(b"\n"))
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
    try:
        raw = register_path().read_bytes()
    except OSError:
        return
    wanted = b"" if folder is None else msgspec.json.encode(_told(folder))
    lines: Iterable[bytes] = raw.split(b"\n") if wanted in raw else ()
    for line in lines:
        if wanted in line:
            try:
                yield _read(line)
            except UNREADABLE:
                continue


def _told(folder: Path) -> str:
    return str(folder.resolve()).encode("utf-8", "replace").decode("utf-8")


def broken_register_lines() -> list[int]:
    """Numbers of the register's lines that are not as they were written."""
    try:
        lines = register_path().read_bytes().split(b"\n")[:-1]
    except OSError:
        return []
    return [number for number, line in enumerate(lines, 1) if line and not hash_fits(line)]
