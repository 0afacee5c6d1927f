"""Opening a job for work: its folder, its log, its state, and the session that joins them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import Protocol

from fieldvoice.commands.rim.streams import readable
from fieldvoice.commands.wiring.earlier_jobs import look_up
from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.commands.wiring.find_procedure import find_text, load_kept, load_named
from fieldvoice.commands.wiring.keeping.clock_of_log import go_on
from fieldvoice.commands.wiring.keeping.kept_procedure import check_procedures
from fieldvoice.devices.joblog import LOG_NAME, JobLog, bring_back, read_procedures
from fieldvoice.dialogue.assistant import Reply
from fieldvoice.jobstate.events import (
    PRACTICE,
    RECORDING,
    REPLAY,
    SIMULATED,
    WORK,
    Entry,
    JobStarted,
    OwnVoiceUsed,
)
from fieldvoice.jobstate.job import Job, fold_job
from fieldvoice.jobstate.state import JobState
from fieldvoice.procedure.model import Procedure
from fieldvoice.session import Session

_WRONG_MODE = {
    PRACTICE: "the job in {folder} was practised in simulated time and stays practice; go on with "
              "--practice, or name another --job for the real one",
    WORK: "the job in {folder} is a real one; leave --practice away to go on with it, or name "
          "another --job to practise",
    RECORDING: "the job in {folder} was made from a recording of real work; name another --job to "
               "practise",
    REPLAY: "the job in {folder} is a recorded one, replayed in simulated time; it is not gone on "
            "with: name another --job",
}


class Times(Protocol):
    """Either clock of devices/clock.py."""

    def now(self) -> datetime:
        """The moment, aware."""
        ...

    def steady(self) -> float:
        """Seconds of a clock that never jumps."""
        ...

    @property
    def boot(self) -> str | None:
        """Which start of the computer those seconds count from."""
        ...


class OpenJob:
    """A job open for writing; close it when done. Raises CommandError or JobLogError.

    A procedure that a job has not is begun as another sheet of its open unit.
    """

    def __init__(
        self,
        folder: Path,
        procedure_text: str,
        where: str,
        clock: Times,
        reply: Callable[[Reply], None],
        watch: Callable[[Entry], None] = lambda entry: None,
        reopen: str | None = None,
        mode: str = WORK,
        mend: bool = False,
    ) -> None:
        """`mend`: a damaged log is gone on with, and that is logged; else it is refused.

        `reopen`: why a job that is finished is opened again; None: it is refused.

        `mode`: one of those of jobstate/events.py; a job goes on only in its own.
        """
        self.folder = folder
        self._reopen, self._mode, self._mend = reopen, mode, mend
        brought = bring_back(folder)
        self.is_new = not (folder / LOG_NAME).exists()
        if self.is_new and reopen is not None:
            raise CommandError(f"there is no job in {folder} to reopen; `fieldvoice jobs` lists "
                               "the jobs, or leave --reopen away to begin one")
        self.log = self._log(procedure_text, where, clock)
        self.notices = [*brought, *self.log.notices]
        self._another: Procedure | None = None  # to be begun in the job
        self._turn_to: str | None = None  # a unit that was begun with the procedure asked for
        try:
            check_procedures(self.log, _loaded(procedure_text, where) if mend else None, mend=mend)
            job = self._job(procedure_text, where)
        except BaseException:
            self.log.let_go()
            raise
        self._restarted = go_on(clock, self.log)
        self.session = Session(
            job, self.log.append, reply, clock.now, watch, _named,
            lambda procedure: self.log.keep_procedure(procedure.text),
            partial(look_up, mode=mode), self.log.append_all)

    def _log(self, procedure_text: str, where: str, clock: Times) -> JobLog:
        if not self.is_new:
            return JobLog(self.folder, steady=clock.steady, boot=clock.boot, mend=self._mend)
        whole = load_named(procedure_text, where).text  # a broken one leaves no folder behind
        return JobLog.create(self.folder, whole, steady=clock.steady, boot=clock.boot)

    def _procedures(self) -> tuple[Procedure, ...]:
        """Those that the units were begun with, the first unit's in front."""
        kept = read_procedures(self.folder)
        begun = [v.event.procedure_sha256 for v in self.log.entries
                 if isinstance(v.event, JobStarted)]
        return tuple(
            load_kept(text, (begun or [""])[0] if place == 0 else None, str(self.folder))
            for place, text in enumerate(kept))

    def _job(self, procedure_text: str, where: str) -> Job:
        first, *more = self._procedures()
        job = self._folded(Job.of(JobState.empty(first), more))
        if self.log.entries:
            self._find_another(job, procedure_text, where)
        if job.finished and self._another is None and self._reopen is None:
            raise CommandError(
                f"the job in {self.folder} is finished; write its report with `fieldvoice report`, "
                "add to it with --reopen, or name another job"
            )
        if self.log.entries and not _goes_on(job.mode, self._mode):
            raise CommandError(_WRONG_MODE[job.mode].format(folder=self.folder))
        if self.log.entries and job.state.job != readable(self.folder.name):
            self.notices.append(
                f"{self.folder.name} began as job {job.state.job}: this folder is a copy of it, or "
                "was renamed. What is logged here stands here alone.")
        if self._reopen is not None and not job.finished:
            self.notices.append("This job is not finished: it goes on, nothing is reopened.")
        return job

    def _folded(self, job: Job) -> Job:
        try:
            damaged = bool(self.log.faults) or bool(self.log.mended)
            folded = fold_job(job, self.log.entries, lenient=damaged)
            course = replace(folded.course, next_seq=self.log.next_seq)  # after lines that fell out
            return replace(folded, course=course)
        except (KeyError, ValueError) as error:
            raise CommandError(
                f"the log in {self.folder} does not fit its procedure ({error}); its report can "
                "still be written, but work goes on only as a new job"
            ) from None

    def _find_another(self, job: Job, procedure_text: str, where: str) -> None:
        """One that none of the job's units was begun with; else what it was begun with goes on."""
        asked = _loaded(procedure_text, where)
        kept = {unit: state.procedure for unit, state in job.states.items()}
        if asked is not None and asked.name not in [procedure.name for procedure in kept.values()]:
            self._another = asked
            return
        if asked is None or asked.text not in [procedure.text for procedure in kept.values()]:
            self.notices.append("This job goes on with the procedure that it was started with.")
        if asked is not None and asked.name != job.state.procedure.name:
            begun = [unit for unit in kept
                     if kept[unit].name == asked.name and not job.states[unit].finished]
            self._turn_to = begun[-1] if begun else None

    def start(
        self, site: Mapping[str, str], depth: str | None = None, clips: bool | None = None,
        voice: OwnVoiceUsed | None = None,
    ) -> None:
        """Begin a new job, or go on with one that was begun; raises FactError for a bad fact.

        `clips`: whether the sound of lines is kept from now on, None: as before; `voice`: what
        spoken lines are heard with from now on, None: nothing is listened to.
        """
        self._start(site, depth)
        if clips is not None:
            self.session.keep_clips(clips)
        if voice is not None:
            self.session.hear_with(voice)

    def _start(self, site: Mapping[str, str], depth: str | None) -> None:
        begun, mended = bool(self.log.entries), self.log.mending()
        if mended is not None:
            self.session.mend(mended)
        if self._reopen is not None and self.session.job.finished:
            self.session.reopen(self._reopen)
            return
        if not begun:
            self.session.begin(readable(self.folder.name), site, depth, self._mode)
            return
        if not self.session.job.finished:
            self.session.resume(site, depth, self._restarted)
        if self._another is not None:
            self.session.begin_sheet(self._another, site)
        elif self._turn_to is not None:
            self.session.turn_to(self._turn_to)

    def close(self) -> None:
        """Let go of the folder."""
        self.log.close()

    def __enter__(self) -> OpenJob:
        return self

    def __exit__(self, *error: object) -> None:
        self.close()


def _goes_on(mode: str, wanted: str) -> bool:
    """Real work goes on live or from a recording; what was simulated stays that."""
    real = mode not in SIMULATED and wanted not in SIMULATED
    return real or mode == wanted


def _loaded(procedure_text: str, where: str) -> Procedure | None:
    """The procedure with what it includes written out; None where it has faults by now."""
    try:
        return load_named(procedure_text, where)
    except CommandError:
        return None


def _named(name: str) -> Procedure:
    """The procedure of a unit, by the name that a line gave. Raises CommandError."""
    return load_named(*find_text(name))
