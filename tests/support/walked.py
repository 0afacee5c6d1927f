"""What walks through a procedure did, so that those that begin alike, or go on alike, do it once.

The assistant's answers follow from the state, the line and the time alone: the same ways from the
same beginning come to the same log.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Hashable
from dataclasses import dataclass
from datetime import datetime

from fieldvoice.dialogue.assistant import Reply
from fieldvoice.jobstate.events import Entry
from fieldvoice.jobstate.state import JobState
from support.bench import Bench

MOST_WHOLE = 40  # walks that are kept to their end: those that are alike stand together


@dataclass(frozen=True)
class _Stop:
    """A bench as it stood between two steps."""

    state: JobState
    now: datetime
    log: tuple[Entry, ...]
    replies: list[Reply]


class Walked:
    """The walks through one procedure so far. A place is a number for all that was done before."""

    def __init__(self) -> None:
        self._places: dict[tuple[int, Hashable], int] = {}
        self._stops: dict[int, _Stop] = {}
        self._whole = deque[tuple[set[Hashable], Bench, list[str]]](maxlen=MOST_WHOLE)

    def beyond(self, place: int, deed: Hashable) -> int:
        """The place that a deed leads to; beginnings are deeds at place 0."""
        return self._places.setdefault((place, deed), len(self._places) + 1)

    def is_kept(self, place: int) -> bool:
        """Whether a bench was kept there."""
        return place in self._stops

    def keep(self, place: int, bench: Bench) -> None:
        """Remember the bench as it stands at a place."""
        self._stops[place] = _Stop(bench.state, bench.now, tuple(bench.log), bench.replies)

    def put(self, bench: Bench, place: int) -> None:
        """Set the bench to how one stood there."""
        stop = self._stops[place]
        bench.state, bench.now = stop.state, stop.now
        bench.log, bench.replies = list(stop.log), stop.replies

    def end_of(self, here: Hashable) -> tuple[Bench, list[str]] | None:
        """How a walk ended that came by here: its bench, and the steps that it visited."""
        return next(((bench, steps) for by, bench, steps in self._whole if here in by), None)

    def ended(self, by: set[Hashable], bench: Bench, visited: list[str]) -> None:
        """Remember a whole walk that came by these."""
        self._whole.append((by, bench, visited))
