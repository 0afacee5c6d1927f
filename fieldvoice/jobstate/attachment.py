"""A file kept with the job, as a line that asks for the newest photo is given it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from fieldvoice.errors import FieldvoiceError


class NoPhoto(FieldvoiceError):
    """There is none to keep; the message says why, as it is said aloud."""


@dataclass(frozen=True)
class KeptFile:
    """A copy in the job's folder."""

    file: str  # path inside the folder
    sha256: str
    bytes: int


Newest = Callable[[frozenset[str]], KeptFile]  # of those whose SHA-256 is not given; raises NoPhoto


def no_photos(_known: frozenset[str]) -> KeptFile:
    """Where no folder of photos is watched."""
    raise NoPhoto("No photo folder is watched. Begin work with --photos and a folder.")
