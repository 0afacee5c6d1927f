"""`fieldvoice hear --job`: which job, from when on, and what is told at the end."""

from __future__ import annotations

import argparse
import sys
from datetime import datetime
from pathlib import Path
from shlex import quote

from fieldvoice.commands.rim.progress import clock_words
from fieldvoice.commands.rim.telling import tell
from fieldvoice.commands.wiring.errors import INTERRUPTED, OK, CommandError
from fieldvoice.commands.wiring.facts_given import checked_facts
from fieldvoice.commands.wiring.find_procedure import find_text
from fieldvoice.commands.wiring.hearing.awaited import Awaited
from fieldvoice.commands.wiring.models import load_ear
from fieldvoice.commands.wiring.recording.recorded_work import RecordedWork
from fieldvoice.commands.wiring.recording.site_recording import SiteRecording, read_recording
from fieldvoice.commands.wiring.recording.told import told
from fieldvoice.devices.clock import SimulatedClock
from fieldvoice.devices.joblog import LOG_NAME, job_folder, read_log, read_procedure
from fieldvoice.jobstate.events import Entry, OwnVoiceUsed, last_worked_on


def hear_into_job(args: argparse.Namespace, voice: OwnVoiceUsed) -> int:
    """Hear one recording into a job; what is logged stays when it is interrupted.

    `voice`: what its lines are heard with.
    """
    folder = job_folder(args.job)
    procedure = _procedure(folder, args)
    site = checked_facts(folder, procedure, args.site)
    entries = read_log(folder).entries if args.go_on else ()
    recording = read_recording(
        args.files[0], args.began, entries, datetime.now().astimezone())
    start = _start(recording, entries)
    clock = SimulatedClock(start)
    output = told(clock, args.json)
    output.notice(recording.told)
    awaited = Awaited()
    ear = load_ear(args.model, awaited)
    with RecordedWork(folder, procedure, recording, ear, clock, output) as work:
        awaited.by = work.open_job.session.waits_for
        code = OK
        try:
            work.start(site, voice)
            work.hear()
        except KeyboardInterrupt:
            code = INTERRUPTED
        for line in _summary(work, recording, args, interrupted=code != OK):
            tell(line, file=sys.stderr if args.json else sys.stdout)
    return code


def _procedure(folder: Path, args: argparse.Namespace) -> tuple[str, str]:
    """Text and name of the procedure; the job's own where none is named. Raises CommandError."""
    begun = (folder / LOG_NAME).exists()
    if begun and not args.go_on:
        raise CommandError(f"{folder} holds a job already: add --go-on to hear the recording into "
                           "it, or name another --job")
    if args.go_on and not begun:
        raise CommandError(f"there is no job in {folder} to go on with; leave --go-on away to "
                           "begin one")
    if args.procedure is not None:
        return find_text(args.procedure)
    if not begun:
        raise CommandError("a new job needs its procedure: name it with --procedure; `fieldvoice "
                           "procedure list` has them")
    return read_procedure(folder), str(folder)


def _start(recording: SiteRecording, entries: tuple[Entry, ...]) -> datetime:
    """Where hearing begins: behind the last work that was logged, so that nothing is heard again.

    What was reviewed since counts for nothing. Raises CommandError.
    """
    worked_on = last_worked_on(entries)
    if worked_on is None or worked_on <= recording.began:
        return recording.began
    if worked_on >= recording.ended:
        raise CommandError(
            f"{recording.told}; the job was worked on until {worked_on:%Y-%m-%d %H:%M:%S}, and "
            "what was said before that is not logged behind it. If the times are wrong, give its "
            "beginning with --began")
    return worked_on.astimezone(recording.began.tzinfo)


def _summary(
    work: RecordedWork, recording: SiteRecording, args: argparse.Namespace, *, interrupted: bool
) -> list[str]:
    job, folder = work.open_job.session.job, work.open_job.folder
    counts = ", ".join(f"{n} {what.replace('-', ' ')}" for what, n in work.outcomes.items())
    lines = [f"\nLines:  {counts or 'none'}"]
    again = f"fieldvoice hear --job {quote(args.job)} --go-on"
    if interrupted:
        lines.append(f"Stopped at {clock_words(work.at_s)} of {clock_words(recording.seconds)}; "
                     f"go on with: {again} {quote(str(recording.path))}")
    elif job.finished:
        lines.append(f"The job is finished at {clock_words(work.at_s)} of "
                     f"{clock_words(recording.seconds)}; what follows was not heard.")
    if any(state.question is not None for state in job.states.values()):
        lines.append("A question is still open, as the log has it.")
    return [*lines, f"The job is kept in {folder}", f"Report with: fieldvoice report "
            f"{quote(args.job)}"]
