"""The figures of a shop: SQL over the logs of its jobs, in memory, without a database file."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from importlib import resources
from pathlib import Path
from types import TracebackType
from typing import Any

import duckdb

from fieldvoice.errors import FieldvoiceError
from fieldvoice.jobstate.events import BESIDE, BESIDE_UNLESS_SAID, RECORDING, SIMULATED
from fieldvoice.jobstate.events import WORK as AT_WORK

FIGURES = {
    "jobs": "the jobs: place, technician, procedure, times, how each stands, verdicts",
    "vacuum": "standing-vacuum tests: verdict, first and last microns, minutes, rise",
    "stages": "time at work in each stage: quartiles over the jobs",
    "asked-back": "spoken readings asked back, by the loudness of the background",
    "corrected": "what was heard for readings that were corrected or taken back",
}
LINES = "lines"  # the tables that the figures ask
WORK = (AT_WORK, RECORDING)  # in real time, at a unit
_GLOB = re.compile(r"([*?\[])")


class ShopError(FieldvoiceError):
    """The logs cannot be asked."""


@dataclass(frozen=True)
class Table:
    """An answer: one row of plain values for each line of it."""

    name: str  # of FIGURES
    columns: tuple[str, ...]
    rows: tuple[tuple[Any, ...], ...]


@dataclass(frozen=True)
class Ignored:
    """What of the logs was not taken in."""

    lines: dict[str, int] = field(default_factory=dict)  # folder of a job -> lines
    logs: tuple[str, ...] = ()  # logs that could not be read at all


def sql(name: str) -> str:
    """The text of one of FIGURES, or of "lines". Raises ShopError."""
    if name not in (LINES, *FIGURES):
        raise ShopError(f"no figure is called {name!r}: try {', '.join((LINES, *FIGURES))}")
    file = f"{name.replace('-', '_')}.sql"
    text = resources.files("fieldvoice.shop").joinpath(file).read_text(encoding="utf-8")
    for kinds, events in (("{beside}", BESIDE), ("{beside_unless_said}", BESIDE_UNLESS_SAID)):
        text = text.replace(kinds, ", ".join(f"'{event.kind}'" for event in events))
    return text


class Shop:
    """The jobs of some logs; use as a context manager."""

    def __init__(self, logs: Sequence[Path], modes: Sequence[str] = WORK) -> None:
        """Read logs of version 2 whose folders have the names of their jobs.

        `modes`: which jobs are taken in. Damaged lines are counted and left out, and so is a log
        that cannot be read at all.
        """
        self._spill = tempfile.TemporaryDirectory(prefix="fieldvoice-shop-")
        self._base = duckdb.connect(":memory:", config={"temp_directory": self._spill.name})
        self._base.execute("set timezone = 'UTC'")
        unread: list[str] = []
        try:
            self._take_in(logs, modes)
        except duckdb.Error:
            good = [log for log in logs if self._readable(log)]
            unread = [str(log) for log in logs if log not in good]
            self._take_in(good, modes)
        found = self._base.execute("select folder, lines from ignored order by folder").fetchall()
        self.ignored = Ignored(dict(found), tuple(unread))

    def ask(
        self, name: str, since: datetime | None = None, until: datetime | None = None
    ) -> Table:
        """One of FIGURES, of what happened from `since` on and before `until`, in local time."""
        try:
            asked = self._base.execute(_with_times(sql(name)), {"since": since, "until": until})
        except duckdb.Error as error:
            raise ShopError(f"cannot work out {name}: {error}") from None
        columns = tuple(str(column[0]) for column in asked.description or ())
        return Table(name, columns, tuple(asked.fetchall()))

    def simulated(self) -> int:
        """How many of the jobs are practice or replays, taken in or not."""
        found = self._base.execute(
            "select count(*) from job where list_contains($modes, mode)",
            {"modes": list(SIMULATED)}).fetchall()
        return int(found[0][0])

    def _take_in(self, logs: Sequence[Path], modes: Sequence[str]) -> None:
        for table in ("entry", "gone", "job", "ignored", "line"):
            self._base.execute(f"drop table if exists {table}")
        if not logs:
            logs = [Path(self._spill.name) / "none" / "log.jsonl"]
            logs[0].parent.mkdir(exist_ok=True)
            logs[0].touch()
        told = {"files": [_plain(log) for log in logs], "modes": list(modes)}
        for statement in self._base.extract_statements(sql(LINES)):
            wanted = {name: told[name] for name in statement.named_parameters}
            self._base.execute(statement, wanted)

    def _readable(self, log: Path) -> bool:
        try:
            self._take_in([log], WORK)
        except duckdb.Error:
            return False
        return True

    def close(self) -> None:
        """Forget all of it."""
        self._base.close()
        self._spill.cleanup()

    def __enter__(self) -> Shop:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()


def _with_times(text: str) -> str:
    """So that their type is known also where they are not given."""
    return text.replace("$since", "$since::timestamp").replace("$until", "$until::timestamp")


def _plain(log: Path) -> str:
    """The path as no pattern, whatever signs a folder's name has."""
    return _GLOB.sub(r"[\1]", str(log.absolute()))
