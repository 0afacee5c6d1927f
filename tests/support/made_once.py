"""What is costly to make and the same for a whole run: made by the worker that needs it first."""

from __future__ import annotations

import os
import pickle
from collections.abc import Callable
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import TypeVar

from filelock import FileLock

RUN = "FIELDVOICE_TEST_RUN"  # names a folder that all workers share; conftest sets it

_T = TypeVar("_T")


@cache
def run_folder() -> Path:
    """The folder of the test run; outside of one, a new folder."""
    return Path(os.environ.get(RUN) or mkdtemp())


def made_once(name: str, make: Callable[[], _T]) -> _T:
    """What `make` gives, by pickle from the worker that made it; each call reads it anew."""
    if RUN not in os.environ:  # not in a test run
        return make()
    place = run_folder() / f"{name}.pickle"
    with FileLock(place.with_suffix(".lock")):
        if not place.exists():
            made = place.with_suffix(".part")
            made.write_bytes(pickle.dumps(make(), pickle.HIGHEST_PROTOCOL))
            made.rename(place)
    found: _T = pickle.loads(place.read_bytes())
    return found
