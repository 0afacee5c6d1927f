"""A job on disk goes on at its own time, whatever was done to the computer's clock meanwhile."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from fieldvoice.commands.wiring.keeping.clock_of_log import ahead, jumped
from fieldvoice.commands.wiring.open_job import OpenJob
from fieldvoice.devices.clock import Clock
from fieldvoice.devices.joblog import read_log
from fieldvoice.jobstate.events import ClockJumped, Restarted, TimerFinished
from fieldvoice.jobstate.timers import say_duration
from support.old_log import make_old
from support.small_procedure import TEXT

NINE = datetime(2026, 3, 2, 9, tzinfo=timezone(timedelta(hours=-5)))
QUESTION = "Is that clock right? Say yes or no."


class Bench:
    """A job in a folder, and a computer whose clocks are moved by hand."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.shows, self.steady, self.boot = NINE, 1000.0, "a"
        self.said: list[str] = []

    def sit(self, seconds: float) -> None:
        """Time passes."""
        self.shows += timedelta(seconds=seconds)
        self.steady += seconds

    def work(self, *lines: str) -> str:
        """A process works the job: it begins or goes on, and hears lines; what was said."""
        self.said.clear()
        clock = Clock(lambda: self.shows, lambda: self.steady, self.boot)
        with OpenJob(self.folder, TEXT, "small", clock, lambda r: self.said.append(r.text)) as job:
            job.start({})
            jump = clock.jump()
            if jump is not None:
                job.session.clock_set(jumped(jump))
            for line in lines:
                job.session.hear_line(line, "typed")
            job.session.tick()
        return " ".join(self.said)

    def kinds(self) -> list[str]:
        """Of the log's events."""
        return [entry.event.kind for entry in read_log(self.folder).entries]


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    made = Bench(tmp_path / "job")
    made.work("understood", "900 microns", "410 microns", "start the hold")
    return made


@pytest.mark.parametrize("by", [3600, -3600])
def test_a_clock_set_while_no_program_ran_moves_no_hold_and_is_told_once(
    bench: Bench, by: int
) -> None:
    bench.sit(240)
    bench.shows += timedelta(seconds=by)
    text = bench.work("how long left")
    assert text.count("6 minutes left.") == 2
    assert text.count("The computer's clock was set") == 1
    assert QUESTION not in text
    bench.sit(120)
    text = bench.work()
    assert "Hold: 4 minutes left." in text
    assert "clock" not in text
    times = [entry.at for entry in read_log(bench.folder).entries]
    assert times == sorted(times)
    assert times[-1] == NINE + timedelta(seconds=360)


def test_after_a_restart_it_is_asked_and_yes_lets_the_hold_count(bench: Bench) -> None:
    bench.sit(840)
    bench.boot, bench.steady = "b", 30.0
    text = bench.work()
    assert f"By its clock, 9:14 AM, the hold has run 14 minutes. {QUESTION}" in text
    assert "timer-finished" not in bench.kinds()
    bench.sit(5)
    assert "ran out 4 minutes 5 seconds ago" in bench.work("yes")
    (end,) = [v.at for v in read_log(bench.folder).entries if isinstance(v.event, TimerFinished)]
    assert end == NINE + timedelta(seconds=845)


def test_after_a_restart_behind_the_log_times_do_not_run_back(bench: Bench) -> None:
    bench.shows -= timedelta(days=400)
    bench.boot, bench.steady = "b", 30.0
    assert "its clock is wrong" in bench.work()
    bench.sit(60)
    assert "Hold started: 10 minutes." in bench.work("start the hold")
    bench.sit(600)
    assert "Hold finished" in bench.work()
    times = [entry.at for entry in read_log(bench.folder).entries]
    assert times == sorted(times)
    assert times[-1] == NINE + timedelta(seconds=660)
    assert "clock-jumped" not in bench.kinds()


def test_a_log_without_boots_goes_on_where_both_clocks_agree(bench: Bench) -> None:
    make_old(bench.folder)
    bench.sit(240)
    assert "Hold: 6 minutes left." in bench.work()


def test_a_log_without_boots_is_asked_about_where_they_do_not(bench: Bench) -> None:
    make_old(bench.folder)
    bench.sit(240)
    bench.shows += timedelta(hours=1)
    assert QUESTION in bench.work()


def test_many_interruptions_add_no_error(bench: Bench) -> None:
    """A line is written some time after the moment that it tells of: that must not add up."""
    began = bench.steady

    def steady() -> float:
        bench.sit(0.04)  # a program that takes its time between two looks at the clock
        return bench.steady

    for _ in range(60):
        bench.sit(5)
        clock = Clock(lambda: bench.shows, steady, bench.boot)
        with OpenJob(bench.folder, TEXT, "small", clock, lambda reply: None) as job:
            job.start({})
    text = bench.work("how long left")
    left = 600 - (bench.steady - began)
    near = [say_duration(timedelta(seconds=left + off)) for off in (-0.3, 0, 0.3)]
    assert any(f"Hold: {duration} left." in text for duration in near), (near, text)


def test_how_far_the_wall_clock_is_ahead_is_read_from_the_log(bench: Bench) -> None:
    bench.shows += timedelta(hours=1)
    bench.work()
    bench.shows -= timedelta(minutes=10)
    bench.work()
    entries = read_log(bench.folder).entries
    assert [round(v.event.seconds) for v in entries if isinstance(v.event, ClockJumped)] == [
        3600, -600]
    assert ahead(entries) == timedelta(minutes=50)
    bench.sit(60)
    bench.boot, bench.steady = "b", 5.0
    assert "the hold has run 1 minute." in bench.work()
    assert ahead(read_log(bench.folder).entries) == timedelta(minutes=50)
    assert any(isinstance(v.event, Restarted) for v in read_log(bench.folder).entries)
