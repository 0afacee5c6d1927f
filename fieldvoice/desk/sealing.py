"""Whether a job's log, its sounds and its procedure are as they were written."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from fieldvoice.devices.joblog import verify
from fieldvoice.quantity.counted import counted
from fieldvoice.review.report.integrity import SHORT

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
    found = verify(folder)
    words = (f"{counted(found.lines, 'line')}, {_SEALED[found.sealed]}; "
             f"short hash {found.head[:SHORT]}")
    return Checked(found.intact, "; ".join([words, *found.notes]), tuple(
        f"{fault.where}: {fault.what}. {fault.what_to_do}" for fault in found.faults))
