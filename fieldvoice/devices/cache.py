"""What was computed once and can be again: files where the system keeps a user's caches."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from platformdirs import user_cache_path


def read_cached(kind: str, key: str) -> str | None:
    """What was kept last of this kind, if it was under this key; else None."""
    try:
        return _path(kind, key).read_text("utf-8")
    except (OSError, ValueError):
        return None


def keep_cached(kind: str, key: str, text: str) -> None:
    """Keep a text in the place of all others of its kind; where that fails nothing is kept."""
    path = _path(kind, key)
    partial = path.with_suffix(f".{os.getpid()}")
    with contextlib.suppress(OSError):
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        old = set(path.parent.glob(f"{kind}-*"))
        partial.write_text(text, "utf-8")
        partial.replace(path)
        for one in old - {path}:
            one.unlink(missing_ok=True)


def cache_folder() -> Path:
    """Where the system keeps what a user's programs can make again."""
    return user_cache_path("fieldvoice", appauthor=False)


def _path(kind: str, key: str) -> Path:
    return cache_folder() / f"{kind}-{key}.json"
