"""A test of another job is read from its log by name; an option opens a finished job again."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from fieldvoice.commands.wiring.earlier_jobs import look_up
from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.commands.wiring.open_job import OpenJob
from fieldvoice.devices.clock import SimulatedClock
from fieldvoice.devices.joblog import jobs_folder
from fieldvoice.devices.joblog.lines import line_hash
from fieldvoice.jobstate.earlier_job import NoSuchJob
from fieldvoice.jobstate.events import JobReopened
from support.every_sort import TEXT

START = datetime(2026, 5, 3, 9, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    return jobs_folder()


def open_job(name: str, reopen: str | None = None) -> tuple[OpenJob, SimulatedClock]:
    clock = SimulatedClock(START)
    return OpenJob(jobs_folder() / name, TEXT, "x", clock, lambda r: None, reopen=reopen), clock


def held(name: str) -> None:
    """A job whose standing vacuum was tight."""
    job, clock = open_job(name)
    with job:
        job.start({"refrigerant": "R-410A"})
        for line in ("understood", "next", "not flammable", "70 F", "450 microns",
                     "start the hold"):
            job.session.hear_line(line, "typed")
        for minute in range(11):
            job.session.tick()
            job.session.hear_line(f"{450 + min(minute, 3)} microns", "typed")
            clock.move(timedelta(minutes=1))
        job.session.tick()
        job.session.hear_line("453 microns", "typed")


def test_the_verdict_comes_with_its_day_its_figures_and_the_hash_of_the_log() -> None:
    held("unit-12b")
    found = look_up("unit-12b")
    result = found.results["decay"]
    assert (result.verdict, result.at.date().isoformat()) == ("tight", "2026-05-03")
    assert result.figures["began at"] == "450 microns"
    assert result.figures["ended at"] == "453 microns"
    last = (jobs_folder() / "unit-12b" / "log.jsonl").read_bytes().splitlines()[-1]
    assert found.log == line_hash(last)
    assert found.facts["refrigerant"] == "R-410A"


@pytest.mark.parametrize(("name", "why"), [
    ("no-such", "there is no job no-such"), ("../unit-12b", "is no name of a job"),
    ("..", "is no name of a job"), ("", "is no name of a job"), ("/etc", "is no name of a job"),
])
def test_a_job_that_is_none_is_refused(name: str, why: str) -> None:
    held("unit-12b")
    with pytest.raises(NoSuchJob, match=why):
        look_up(name)


def test_a_log_that_was_changed_or_cannot_be_read_is_refused() -> None:
    held("unit-12b")
    log = jobs_folder() / "unit-12b" / "log.jsonl"
    whole = log.read_text("utf-8")
    log.write_text(whole.replace('"453"', '"403"'), "utf-8")
    with pytest.raises(NoSuchJob, match="was changed by hand"):
        look_up("unit-12b")
    lines = whole.splitlines(keepends=True)
    log.write_text("".join([*lines[:3], "{rubbish}\n", *lines[3:]]), "utf-8")
    with pytest.raises(NoSuchJob, match="was changed by hand"):
        look_up("unit-12b")
    log.write_text("".join(lines[:-2]), "utf-8")  # its seal counts two lines more
    with pytest.raises(NoSuchJob, match="was changed by hand"):
        look_up("unit-12b")
    log.unlink()
    log.mkdir()
    with pytest.raises(NoSuchJob):
        look_up("unit-12b")


def test_a_finished_job_is_refused_with_the_option_that_opens_it() -> None:
    job, _ = open_job("done")
    with job:
        job.start({})
        job.session.hear_line("finish the job", "typed")
        job.session.hear_line("yes", "typed")
    with pytest.raises(CommandError, match="add to it with --reopen"):
        open_job("done")
    again, _ = open_job("done", "the owner called")
    with again:
        again.start({})
        assert not again.session.state.finished
    raw = (jobs_folder() / "done" / "log.jsonl").read_text("utf-8").splitlines()
    logged = [json.loads(line) for line in raw]
    assert [v["data"]["reason"] for v in logged if v["kind"] == JobReopened.kind] == [
        "the owner called"]


def test_there_is_nothing_to_reopen_where_no_job_is_and_one_at_work_just_goes_on() -> None:
    with pytest.raises(CommandError, match="there is no job in"):
        open_job("nope", "")
    assert not (jobs_folder() / "nope").exists()
    job, _ = open_job("new")
    with job:
        job.start({})
    again, _ = open_job("new", "")
    with again:
        assert any("not finished" in notice for notice in again.notices)
