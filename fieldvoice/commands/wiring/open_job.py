"""Opening a job for work: its folder, its log, its state, and the session that joins them."""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path
from typing import Protocol

from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.commands.wiring.find_procedure import load_kept, load_named
from fieldvoice.devices.joblog import LOG_NAME, JobLog, read_procedure
from fieldvoice.dialogue.assistant import Reply
from fieldvoice.jobstate.events import Entry, JobStarted
from fieldvoice.jobstate.state import JobState, fold
from fieldvoice.procedure.model import Procedure
from fieldvoice.quantity.convert import prepare
from fieldvoice.session import Session


def prepare_units() -> None:
    """Load the unit library in a thread of its own, while a model or a procedure is read."""
    threading.Thread(target=prepare, name="units", daemon=True).start()


class Times(Protocol):
    """Either clock of devices/clock.py."""

    def now(self) -> datetime:
        """The moment, aware."""
        ...

    def steady(self) -> float:
        """Seconds of a clock that never jumps."""
        ...


class OpenJob:
    """A job open for writing; close it when done. Raises CommandError or JobLogError."""

    def __init__(
        self,
        folder: Path,
        procedure_text: str,
        where: str,
        clock: Times,
        reply: Callable[[Reply], None],
        watch: Callable[[Entry], None] = lambda entry: None,
    ) -> None:
        self.folder = folder
        self.is_new = not (folder / LOG_NAME).exists()
        self.log = self._log(procedure_text, where, clock)
        self.notices = list(self.log.notices)
        try:
            state = self._state(self._procedure(procedure_text, where))
        except BaseException:
            self.log.close()
            raise
        self.session = Session(state, self.log.append, reply, clock.now, watch)

    def _log(self, procedure_text: str, where: str, clock: Times) -> JobLog:
        if not self.is_new:
            return JobLog(self.folder, steady=clock.steady)
        whole = load_named(procedure_text, where).text  # a broken one leaves no folder behind
        return JobLog.create(self.folder, whole, steady=clock.steady)

    def _procedure(self, procedure_text: str, where: str) -> Procedure:
        """The one that the job was started with."""
        kept = read_procedure(self.folder)
        if not self.is_new and kept != _whole(procedure_text, where):
            self.notices.append("This job goes on with the procedure that it was started with.")
        began = (v.event for v in self.log.entries if isinstance(v.event, JobStarted))
        started = next(began, None)
        return load_kept(kept, started.procedure_sha256 if started else "", str(self.folder))

    def _state(self, procedure: Procedure) -> JobState:
        try:
            state = fold(JobState.empty(procedure), self.log.entries)
        except (KeyError, ValueError) as error:
            raise CommandError(
                f"the log in {self.folder} does not fit its procedure ({error}); its report can "
                "still be written, but work goes on only as a new job"
            ) from None
        if state.finished:
            raise CommandError(
                f"the job in {self.folder} is finished; write its report with `fieldvoice report`, "
                "or name another job"
            )
        return state

    def start(self, site: Mapping[str, str], depth: str | None = None) -> None:
        """Begin a new job, or go on with one that was begun."""
        if self.session.state.job:
            self.session.resume(depth)
        else:
            self.session.begin(self.folder.name, site, depth)

    def close(self) -> None:
        """Let go of the folder."""
        self.log.close()

    def __enter__(self) -> OpenJob:
        return self

    def __exit__(self, *error: object) -> None:
        self.close()


def _whole(procedure_text: str, where: str) -> str | None:
    """The text with what it includes written out; None where it has faults by now."""
    try:
        return load_named(procedure_text, where).text
    except CommandError:
        return None
