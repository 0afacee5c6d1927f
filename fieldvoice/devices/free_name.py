"""The first free name of a row of names in a folder: what bears a name is never written over."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from itertools import count
from pathlib import Path


def numbered(pattern: str, first: int = 1) -> Iterator[str]:
    """The names of a row: "torn-{}.txt" with 1, 2, 3, ..."""
    return (pattern.format(number) for number in count(first))


def first_free(folder: Path, names: Iterable[str]) -> Path:
    """The first of the names that nothing in the folder bears, not even a broken link."""
    return next(path for path in map(folder.joinpath, names) if not os.path.lexists(path))


def made_free(folder: Path, names: Iterable[str], make: Callable[[Path], None]) -> Path:
    """What `make` made under the first name that is free at that moment.

    `make` raises FileExistsError where something of that name has come in between; the next name is
    tried then.
    """
    names = iter(names)
    while True:
        path = first_free(folder, names)
        with suppress(FileExistsError):
            make(path)
            return path
