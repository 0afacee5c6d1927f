"""A job goes on with the procedure that it was started with, whatever became of the rules since."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.commands.wiring.find_procedure import load_kept, load_named
from fieldvoice.commands.wiring.open_job import OpenJob
from fieldvoice.devices.clock import SimulatedClock
from fieldvoice.devices.joblog import JobLog
from fieldvoice.dialogue import assistant
from fieldvoice.jobstate.state import JobState
from fieldvoice.procedure.reader import parse
from support.small_procedure import TEXT

LISTING = TEXT.replace('say "', 'say "Look, listen, feel, then ', 1)  # refused in a new file
START = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


def _begun(folder: Path, text: str) -> None:
    """A job begun when nobody minded such a procedure."""
    log = JobLog.create(folder, text, steady=lambda: 0.0)
    outcome = assistant.begin(JobState.empty(parse(text)), START, "old", {})
    for event in outcome.events:
        log.append(event, START)
    log.close()


def _open(folder: Path, text: str) -> OpenJob:
    return OpenJob(folder, text, "small", SimulatedClock(START), lambda reply: None)


def test_a_kept_procedure_that_would_be_refused_today_is_gone_on_with(tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="lists several things"):
        load_named(LISTING, "small")
    _begun(tmp_path / "old", LISTING)
    with _open(tmp_path / "old", TEXT) as job:
        job.start({})
        assert job.session.state.procedure.text == LISTING
        assert job.session.state.step is not None


def test_a_kept_procedure_that_somebody_changed_is_not_worked_with(tmp_path: Path) -> None:
    _begun(tmp_path / "old", TEXT)
    (tmp_path / "old" / "procedure.txt").write_text(LISTING, encoding="utf-8")
    with pytest.raises(CommandError, match="is not the text of pump-down that the job began with"):
        _open(tmp_path / "old", TEXT)


def test_a_kept_procedure_that_cannot_be_read_is_refused_with_its_place() -> None:
    text = TEXT + "\nnonsense"
    with pytest.raises(CommandError, match="kept: line"):
        load_kept(text, parse(TEXT).sha256, "kept")
