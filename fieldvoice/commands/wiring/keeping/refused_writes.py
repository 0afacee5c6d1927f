"""A log that cannot be written: that is said, work goes on, and nothing is told as kept."""

from __future__ import annotations

from collections.abc import Callable

from fieldvoice.devices.joblog import WriteRefused
from fieldvoice.dialogue.assistant import Reply
from fieldvoice.jobstate.events import Entry, Event, LineHeard, Reminded, TimerFinished
from fieldvoice.session import NotLogged

NOT_KEPT = "What you said is not kept."
ON_AGAIN = "The log can be written again."


class RefusedWrites:
    """Says the trouble once, each line that is lost, and the announcements that cannot wait.

    The next tick or line tries to write again; what it then tells is logged.
    """

    def __init__(self, reply: Callable[[Reply], None]) -> None:
        self._reply = reply
        self._failing = False
        self._told: set[tuple[str | None, Event]] = set()  # with their units

    def guard(self, turn: Callable[[], object]) -> None:
        """Let a turn happen, or say that it did not."""
        try:
            turn()
        except NotLogged as refused:
            self._refused(refused)

    def written(self) -> None:
        """Something was logged."""
        if self._failing:
            self._failing = False
            self._told.clear()
            self._reply(Reply(ON_AGAIN, "alert"))

    def _refused(self, refused: NotLogged) -> None:
        line = any(isinstance(event, LineHeard) for event in refused.outcome.events)
        if line or not self._failing:
            why = refused.why.reason if isinstance(refused.why, WriteRefused) else str(refused.why)
            lost = f" {NOT_KEPT}" if line else ""
            self._reply(Reply(f"The log cannot be written: {why}.{lost}", "alert"))
        self._failing = True
        ends = {(v.unit, v.event) for v in refused.outcome.entries if _is_announced(v)}
        if not line and not ends <= self._told:
            for reply in refused.outcome.replies:
                if reply.tone == "alert":
                    self._reply(reply)
        self._told |= ends


def _is_announced(entry: Entry) -> bool:
    return isinstance(entry.event, TimerFinished | Reminded)
