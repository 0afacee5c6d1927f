"""The file of what a GPU machine is to speak: a JSON list of [word, phones with stress] a line.

It needs neither the grammar nor the dictionary where it is read.
"""

from __future__ import annotations

import gzip
import json
from collections.abc import Iterable, Iterator
from pathlib import Path

Line = list[tuple[str, list[str]]]


def write(path: Path, lines: Iterable[Line]) -> None:
    """Write a script (gzip)."""
    with gzip.open(path, "wt") as file:
        file.writelines(json.dumps(line) + "\n" for line in lines)


def read(path: Path) -> Iterator[Line]:
    """The lines of a script."""
    with gzip.open(path, "rt") as file:
        for row in file:
            yield [(word, phones) for word, phones in json.loads(row)]
