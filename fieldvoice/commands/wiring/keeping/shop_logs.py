"""The logs of the jobs in a folder, in the form that a shop's figures are asked of."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.devices.joblog import LOG_NAME, JobLogError, read_log
from fieldvoice.jobstate.events import Entry

_FIRST_FORM = b'"v": 1,'
_BEGIN = 64  # bytes of a log that tell its version


@dataclass(frozen=True)
class ShopLogs:
    """Logs in today's form, and what was done or left out to have them so."""

    logs: tuple[Path, ...]
    converted: int = 0  # logs of version 1
    left_out: tuple[str, ...] = ()  # why others were not taken in


@contextmanager
def shop_logs(folder: Path) -> Iterator[ShopLogs]:
    """The logs of the folders in `folder`; those of version 1 converted, for as long as it lasts.

    Links are not followed. Raises CommandError where the folder cannot be read.
    """
    logs, left_out = _found(folder)
    with TemporaryDirectory(prefix="fieldvoice-shop-") as room:
        taken: list[Path] = []
        converted = 0
        for log in logs:
            try:
                old = _is_old(log)
                taken.append(_convert(log, Path(room)) if old else log)
                converted += old
            except (JobLogError, OSError) as error:
                left_out.append(str(error))
        yield ShopLogs(tuple(taken), converted, tuple(left_out))


def _found(folder: Path) -> tuple[list[Path], list[str]]:
    try:
        folders = sorted(os.scandir(folder), key=lambda entry: entry.name)
    except OSError as error:
        raise CommandError(f"cannot read {folder}: {error.strerror}; name the folder that holds "
                           "the jobs' folders") from None
    logs, left_out = [], []
    for entry in folders:
        log = Path(entry.path) / LOG_NAME
        if entry.is_symlink() or log.is_symlink():
            left_out.append(f"{entry.path} is a link, which is not followed")
        elif log.is_file():
            logs.append(log)
    return logs, left_out


def _is_old(log: Path) -> bool:
    with log.open("rb") as file:
        return _FIRST_FORM in file.read(_BEGIN)


def _convert(log: Path, room: Path) -> Path:
    read = read_log(log.parent)
    path = room / log.parent.name / LOG_NAME
    path.parent.mkdir()
    with path.open("w", encoding="utf-8", errors="replace") as file:
        for entry in read.entries:
            file.write(f"{json.dumps(_line(entry), ensure_ascii=False)}\n")
    return path


def _line(entry: Entry) -> dict[str, object]:
    return {
        "v": 2, "seq": entry.seq, "utc": entry.at.isoformat(), "offset": entry.at.isoformat()[-6:],
        "kind": entry.event.kind, **({} if entry.unit is None else {"unit": entry.unit}),
        "data": entry.event.to_dict(),
    }  # fmt: skip
