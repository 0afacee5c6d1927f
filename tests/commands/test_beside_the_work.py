"""When a review or an addition is logged: at its real time in real work; simulated time stands."""

from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.commands.wiring.keeping.added_later import add_to
from fieldvoice.commands.wiring.keeping.log_for_review import log_for_review
from fieldvoice.commands.wiring.open_job import OpenJob, Times
from fieldvoice.devices.clock import Clock, SimulatedClock
from fieldvoice.devices.joblog import read_log
from fieldvoice.jobstate.events import (
    PRACTICE,
    RECORDING,
    REPLAY,
    WORK,
    NoteTaken,
    RecordingHeard,
    Restarted,
)
from fieldvoice.jobstate.job import FIRST
from support.small_procedure import TEXT

THEN = datetime(2026, 3, 2, 9, tzinfo=timezone(timedelta(hours=-5)))
TIMER = "start a 45 minute nitrogen timer"


def earlier() -> Clock:
    """A computer's clock at THEN, of another start than today's."""
    return Clock(lambda: THEN, lambda: 1000.0, "another")


def work(
    folder: Path, mode: str, *lines: str, clock: Times | None = None, heard: bool = False
) -> datetime:
    """Work on a job in its folder; the time of its last event. `heard`: from a recording."""
    with OpenJob(folder, TEXT, "small", clock or SimulatedClock(THEN), lambda reply: None,
                 mode=mode) as job:
        job.start({})
        if heard:
            job.session.take_recording(RecordingHeard("a.wav", "0" * 64, 9.0, str(THEN), "given"))
        for line in lines:
            job.session.hear_line(line, "typed")
    return read_log(folder).entries[-1].at


def add_note(folder: Path) -> datetime:
    return add_to(folder, lambda job: [(FIRST, NoteTaken("later"))])[-1].at


def kinds(folder: Path) -> list[str]:
    return [v.event.kind for v in read_log(folder).entries]


@pytest.mark.parametrize("mode", [PRACTICE, REPLAY])
def test_simulated_time_stands_still_meanwhile(tmp_path: Path, mode: str) -> None:
    last = work(tmp_path / "job", mode, "understood", TIMER)
    with log_for_review(tmp_path / "job") as (_, moment):
        assert moment == last
    assert add_note(tmp_path / "job") == last


def test_what_was_heard_from_a_recording_is_real_work_reviewed_today(tmp_path: Path) -> None:
    work(tmp_path / "job", RECORDING, "understood", TIMER)
    before = datetime.now().astimezone()
    with log_for_review(tmp_path / "job") as (_, moment):
        assert moment >= before
    assert add_note(tmp_path / "job") >= before
    assert Restarted.kind not in kinds(tmp_path / "job")  # nobody knows of one


@pytest.mark.parametrize("began", [RECORDING, WORK])
def test_live_work_on_what_a_recording_left_claims_no_restart(tmp_path: Path, began: str) -> None:
    clock = earlier() if began == WORK else None
    work(tmp_path / "job", began, "understood", clock=clock)
    work(tmp_path / "job", RECORDING, TIMER, clock=SimulatedClock(THEN), heard=True)
    work(tmp_path / "job", WORK, "vacuum 900 microns", clock=Clock())
    assert Restarted.kind not in kinds(tmp_path / "job")


def test_work_that_went_on_live_after_a_recording_learns_of_a_restart(tmp_path: Path) -> None:
    work(tmp_path / "job", RECORDING, "understood")
    work(tmp_path / "job", WORK, "vacuum 900 microns", clock=earlier())
    before = kinds(tmp_path / "job").count(Restarted.kind)
    with log_for_review(tmp_path / "job"):
        pass
    assert kinds(tmp_path / "job").count(Restarted.kind) == before + 1


def test_beside_a_timer_it_is_not_reviewed_before_its_clock_is_settled(tmp_path: Path) -> None:
    work(tmp_path / "job", RECORDING, "understood")
    work(tmp_path / "job", WORK, TIMER, clock=earlier())
    with pytest.raises(CommandError, match="go on with the job first"), log_for_review(
            tmp_path / "job"):
        pass
    add_note(tmp_path / "job")
    assert kinds(tmp_path / "job")[-2:] == [Restarted.kind, NoteTaken.kind]
