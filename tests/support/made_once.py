"""What is costly to make and the same for a whole run: made by the worker that needs it first."""

from __future__ import annotations

import os
import pickle
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from filelock import FileLock

RUN = "FIELDVOICE_TEST_RUN"  # names a folder that all workers share; conftest sets it

_T = TypeVar("_T")


def made_once(name: str, make: Callable[[], _T]) -> _T:
    """What `make` gives, by pickle from the worker that made it; each call reads it anew."""
    if RUN not in os.environ:  # not in a test run
        return make()
    place = Path(os.environ[RUN]) / f"{name}.pickle"
    with FileLock(place.with_suffix(".lock")):
        if not place.exists():
            made = place.with_suffix(".part")
            made.write_bytes(pickle.dumps(make(), pickle.HIGHEST_PROTOCOL))
            made.rename(place)
    found: _T = pickle.loads(place.read_bytes())
    return found
