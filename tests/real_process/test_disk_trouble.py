"""A disk that is full, read-only or broken, and a job disturbed at work, for real."""

import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from fieldvoice.devices.joblog import parse_log
from fieldvoice.jobstate.events import LineHeard
from support.real_work import PATIENCE_S, RealWork

ROOT = hasattr(os, "geteuid") and os.geteuid() == 0
mounts = pytest.mark.skipif(
    sys.platform != "linux" or not ROOT, reason="only root of Linux mounts a small disk")
straced = pytest.mark.skipif(
    shutil.which("strace") is None, reason="needs Debian's package strace")


def _mount(*told: str) -> None:
    subprocess.run(["mount", *told], check=True)


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Path]:
    """A folder on a disk of 300 kB."""
    place = tmp_path / "disk"
    place.mkdir()
    _mount("-t", "tmpfs", "-o", "size=300k", "tmpfs", str(place))
    yield place
    subprocess.run(["umount", "-l", str(place)], check=True)


def _work(place: Path, tmp_path: Path) -> RealWork:
    return RealWork(place, XDG_DATA_HOME=str(tmp_path / "data"))


def _fill(place: Path) -> Path:
    """Take all the room that is left."""
    with (place / "fill").open("wb", buffering=0) as file:
        try:
            while file.write(bytes(512)):
                pass
        except OSError:
            return place / "fill"
    raise AssertionError("the disk takes everything")


def _heard(raw: bytes) -> list[str]:
    return [v.event.words for v in parse_log(raw, "log").entries
            if isinstance(v.event, LineHeard)]


def _rescues(tmp_path: Path) -> list[Path]:
    return sorted((tmp_path / "data" / "fieldvoice" / "rescue").glob("*.jsonl"))


@mounts
def test_a_full_disk_makes_lines_wait_and_room_lets_them_in(disk: Path, tmp_path: Path) -> None:
    note = "note: " + "x" * 3_000
    with _work(disk, tmp_path) as work:
        work.say("understood")
        work.until(kind="line-heard")
        fill = _fill(disk)
        for _ in range(3):  # whatever room the last block of the log has is used up
            work.say(note)
        work.replied("The log cannot be written: the disk is full. What you say is kept aside")
        work.say("410 microns")
        work.replied("410 microns")
        assert work.replied("Kept aside.") == "Kept aside."
        assert len(_rescues(tmp_path)) == 1
        assert not any("410" in str(v.get("data")) for v in work.read if "kind" in v)
        fill.unlink()
        work.replied("The log can be written again.")
        work.say("where are we")
        work.until(kind="line-heard")
        work.end()
    raw = work.log.read_bytes()
    assert _heard(raw) == ["understood", note, note, note, "410 microns", "where are we"]
    assert parse_log(raw, "log").notices == ()
    assert _rescues(tmp_path) == []
    seqs = [v["seq"] for v in work.read if "kind" in v]
    assert seqs == list(range(1, len(seqs) + 1))  # printed once logged, in their order


def _wait_until_held(pid: int) -> None:
    """Until strace has taken hold of each thread of a process."""
    ends = time.monotonic() + PATIENCE_S
    while any("TracerPid:\t0\n" in path.read_text()
              for path in Path(f"/proc/{pid}/task").glob("*/status")):
        assert time.monotonic() < ends, f"strace does not take hold of process {pid}"
        time.sleep(0.02)


@straced
@pytest.mark.parametrize("fault", [
    "fsync:error=EIO", "write:error=ENOSPC", "write:error=EDQUOT",
    "write:error=EROFS",  # a disk with an open file cannot be made read-only for real
])
def test_a_disk_that_gives_errors_loses_nothing(fault: str, tmp_path: Path) -> None:
    with _work(tmp_path, tmp_path) as work:
        work.say("understood")
        work.until(kind="line-heard")
        call = fault.partition(":")[0]
        tracer = subprocess.Popen(
            ["strace", "-f", "-qq", "-o", str(tmp_path / "trace"), "-P", str(work.log),
             "-e", f"trace={call}", "-e", f"inject={fault}", "-p", str(work.process.pid)])
        try:
            _wait_until_held(work.process.pid)
            work.say("where are we")
            work.replied("The log cannot be written")
            work.say("410 microns")
            work.replied("410 microns")
            work.replied("Kept aside.")
        finally:
            tracer.terminate()
            tracer.wait()
        work.replied("The log can be written again.")
        work.end()
    raw = work.log.read_bytes()
    assert "410 microns" in _heard(raw)
    assert parse_log(raw, "log").notices == ()


@straced
@pytest.mark.parametrize("call", ["write", "fsync"])
@pytest.mark.parametrize("when", [1, 2, 4, 7])
def test_killed_at_a_call_of_the_system_nothing_acknowledged_is_lost(
    call: str, when: int, tmp_path: Path
) -> None:
    with _work(tmp_path, tmp_path) as work:
        work.say("understood")
        work.until(kind="line-heard")
        tracer = subprocess.Popen(
            ["strace", "-f", "-qq", "-o", str(tmp_path / "trace"), "-P", str(work.log),
             "-e", f"trace={call}", "-e", f"inject={call}:signal=KILL:when={when}",
             "-p", str(work.process.pid)])
        while work.process.poll() is None:
            work.say("410 microns")
            try:
                work.process.wait(0.3)
            except subprocess.TimeoutExpired:
                continue
        tracer.wait()
        work.kill()
    kept = {v.seq for v in parse_log(work.log.read_bytes(), "log").entries}
    assert {v["seq"] for v in work.read if "kind" in v} <= kept
    with _work(tmp_path, tmp_path) as again:
        again.until(kind="job-resumed")
        again.end()
        assert "Traceback" not in again.told_beside


@pytest.mark.parametrize("deed", ["lock", "log.jsonl", "folder"])
def test_a_job_disturbed_at_work_is_worked_on_in_a_rescue_file(deed: str, tmp_path: Path) -> None:
    with _work(tmp_path, tmp_path) as work:
        work.say("understood")
        work.until(kind="line-heard")
        job = work.log.parent
        if deed == "folder":
            job.rename(tmp_path / "moved")
        else:
            (job / deed).unlink()
        work.say("410 microns")
        told = work.replied("Look at the job's folder")
        assert told.endswith("What you say is kept aside, timers go on.")
        work.say("start a one second oil timer")
        work.replied("Oil finished")
        assert work.process.stdin is not None
        work.process.stdin.close()
        assert work.process.wait(60) == 1
    (rescue,) = _rescues(tmp_path)
    assert _heard(rescue.read_bytes())[:2] == ["understood", "410 microns"]
    assert parse_log(rescue.read_bytes(), "log").notices == ()
