"""A log that cannot be written: that is said, work goes on, and nothing is told as kept wrongly.

Lines wait in memory and in a rescue file, and are written in their order once that can be. Where
something else changed the log nothing is written in it any more; lines are kept aside in the same
way, and timers go on being announced: a hold that runs is worth more than a tidy end.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path

from fieldvoice.devices.joblog import JobLogError, LogDisturbed, WriteRefused
from fieldvoice.devices.joblog.log_file import LogFile
from fieldvoice.dialogue.assistant import Reply
from fieldvoice.jobstate.events import Entry, Event, LineHeard, Reminded, TimerFinished
from fieldvoice.quantity.counted import counted
from fieldvoice.session import NotLogged, ProcedureNotKept

NOT_KEPT = "What you said is not kept."
ON_AGAIN = "The log can be written again."
KEPT_ASIDE = "Kept aside."
NOT_BEGUN = "The unit is not begun, its procedure cannot be kept: {}. " + NOT_KEPT
NOT_ON_DISK = "Only in memory."
DISTURBED = "Look at the job's folder: {}. Nothing more is written there."
TROUBLE = "The log cannot be written: {}."
ASIDE = "What you say is kept aside, timers go on."
IN_MEMORY = "What you say is only in memory, do not end the program. Timers go on."


class RefusedWrites:
    """Says the trouble once, of each line that it waits or is lost, and what cannot wait."""

    def __init__(
        self, reply: Callable[[Reply], None],
        notice: Callable[[str], None] = lambda text: None,
        show: Callable[[Entry], None] | None = None,
    ) -> None:
        """`show`: takes entries that waited, once they are logged; None: it saw them before."""
        self.file: LogFile | None = None  # that lets lines wait
        self._reply, self._notice, self._show = reply, notice, show
        self._failing = False
        self._told: set[tuple[str | None, Event]] = set()  # with their units
        self._trouble = ""  # as it was told last
        self._noticed: Path | None = None
        self._line = False  # whether this turn took a line
        self._held: list[Entry] = []

    def guard(self, turn: Callable[[], object]) -> None:
        """Let a turn happen, or say that it did not, or that it waits."""
        self.retry()
        self._line, before = False, self._trouble
        try:
            turn()
        except ProcedureNotKept as refused:
            self._reply(Reply(NOT_BEGUN.format(_reason(refused.why)), "alert"))
        except NotLogged as refused:
            self._refused(refused)
        if self.file is not None and self.file.waiting and self._line and self._trouble == before:
            kept = NOT_ON_DISK if self.file.rescue is None else KEPT_ASIDE
            self._reply(Reply(kept, "alert"))

    def retry(self) -> None:
        """Try again to write what waits."""
        if self.file is not None and self.file.waiting:
            self.file.retry()
            if not self.file.waiting:
                self.written()

    def counted(self, entry: Entry) -> Iterable[Entry]:
        """An entry of a turn, before it is answered; those that may be shown now."""
        self._line |= isinstance(entry.event, LineHeard)
        trouble = None if self.file is None else self.file.trouble
        if trouble is None:
            self.written()
            return (entry,)
        self._tell(trouble)
        if self._show is None:
            return (entry,)
        self._held.append(entry)
        return ()

    def written(self) -> None:
        """Something was logged, and so was all that waited."""
        if self._show is not None:
            for entry in self._held:
                self._show(entry)
        self._held, self._trouble = [], ""
        if self._failing:
            self._failing = False
            self._told.clear()
            self._reply(Reply(ON_AGAIN, "alert"))

    def left(self) -> str:
        """At the end: what to do with what still waits; "" where nothing does."""
        self.retry()
        if self.file is None or not self.file.waiting:
            return ""
        count = self.file.waiting.count(b"\n")
        lines = f"{counted(count, 'line is', 'lines are')} not in the log"
        if self.file.rescue is None:
            return f"{lines}, and no disk took them: they are lost ({self.file.trouble})"
        return (f"{lines}; they are kept with all others in {self.file.rescue}, and come back into "
                f"the log when the job is opened again with its log as it was. "
                f"{self.file.trouble}")

    def _tell(self, trouble: JobLogError) -> None:
        assert self.file is not None
        self._failing = True
        safe = self.file.rescue is not None
        told = f"{_why(trouble)} {ASIDE if safe else IN_MEMORY}"
        if told != self._trouble:
            self._trouble = told
            self._reply(Reply(told, "alert"))
        if safe and self.file.rescue != self._noticed:
            self._noticed = self.file.rescue
            self._notice(f"{trouble}. The log so far and all further lines are kept in "
                         f"{self._noticed}; they come back when the job is opened again")

    def _refused(self, refused: NotLogged) -> None:
        line = any(isinstance(event, LineHeard) for event in refused.outcome.events)
        if line or not self._failing:
            lost = f" {NOT_KEPT}" if line else ""
            self._reply(Reply(f"{_why(refused.why)}{lost}", "alert"))
        self._failing = True
        ends = {(v.unit, v.event) for v in refused.outcome.entries if _is_announced(v)}
        if not line and not ends <= self._told:
            for reply in refused.outcome.replies:
                if reply.tone == "alert":
                    self._reply(reply)
        self._told |= ends


def _why(trouble: Exception) -> str:
    if isinstance(trouble, LogDisturbed):
        return DISTURBED.format(trouble.reason)
    return TROUBLE.format(_reason(trouble))


def _reason(trouble: Exception) -> str:
    return trouble.reason if isinstance(trouble, WriteRefused) else str(trouble)


def _is_announced(entry: Entry) -> bool:
    return isinstance(entry.event, TimerFinished | Reminded)
