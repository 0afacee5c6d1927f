"""Whether a job's log, its sounds and its procedure are as they were written."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fieldvoice.devices import joblog

_SEALED = {"sealed": "sealed to its end", "unsealed-tail": "sealed, but for lines since the seal",
           "never": "never sealed"}


@dataclass(frozen=True)
class Checked:
    """What was found."""

    intact: bool
    words: str
    faults: tuple[str, ...] = ()


def check(folder: Path) -> Checked:
    """Read everything anew and compare. Raises JobLogError where there is no log."""
    verify: Callable[[Path], Any] | None = getattr(joblog, "verify", None)
    return _of_log(folder) if verify is None else _of_seal(verify(folder))


def _of_seal(found: Any) -> Checked:
    sealed = _SEALED.get(found.sealed, found.sealed)
    words = f"{found.lines:,} lines, {sealed}; short hash {found.head[:12]}"
    faults = tuple(f"{fault.where}: {fault.what}. {fault.what_to_do}" for fault in found.faults)
    return Checked(found.intact, words, faults)


def _of_log(folder: Path) -> Checked:
    found = joblog.read_log(folder)
    words = (f"{len(found.entries):,} lines, each with the hash of the one before; "
             f"short hash {found.last_hash[:12]}")
    return Checked(not found.notices, words, tuple(found.notices))
