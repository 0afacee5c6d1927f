"""A process that is stopped for a while, and a disk that is full for a while, for real."""

from __future__ import annotations

import re
import resource
import signal
import sys
import time
from pathlib import Path

import pytest

from support.real_work import RealWork

STOPPED_S = 9.0
pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="prlimit and SIGSTOP as on Linux")


def test_a_timer_that_ran_out_while_the_process_was_stopped_is_told_once_with_its_time(
    tmp_path: Path,
) -> None:
    with RealWork(tmp_path) as work:
        work.say("start a five second oil timer")
        work.until(kind="timer-started")
        work.process.send_signal(signal.SIGSTOP)
        time.sleep(STOPPED_S)
        work.process.send_signal(signal.SIGCONT)
        told = work.replied("Oil finished")
        late = re.fullmatch(r"Oil finished (\d+) seconds ago: 5 seconds\.", told.split(" First")[0])
        work.say("how long left")
        work.replied("No timer runs.")
        work.end()
        found = work.logged()
    assert sum("Oil finished" in reply for reply in work.replies()) == 1
    assert late is None or float(late[1]) >= STOPPED_S - 5.0 - 1.0
    steady = {line["kind"]: line["mono"] for line in found}
    assert steady["timer-finished"] - steady["timer-started"] >= STOPPED_S - 0.5
    assert "clock-jumped" not in steady


def test_a_full_disk_loses_no_announcement_and_keeps_what_comes_after(tmp_path: Path) -> None:
    with RealWork(tmp_path) as work:
        work.say("understood")
        work.replied("Run the pump")
        work.say("start a four second oil timer")
        work.replied("Oil: 4 seconds.")
        full = work.log.stat().st_size + 40  # a part of a line finds room, a copy of the log not
        _, most = resource.prlimit(work.process.pid, resource.RLIMIT_FSIZE)
        resource.prlimit(work.process.pid, resource.RLIMIT_FSIZE, (full, most))
        work.say("900 microns")
        work.replied("The log cannot be written: the disk is full. What you say is only in memory")
        work.replied("900 microns")
        work.replied("Oil finished")
        work.say("950 microns")
        work.replied("950 microns")
        assert work.replied("Only in memory.") == "Only in memory."
        assert "900" not in str([v["data"] for v in work.read if "kind" in v])
        before = work.log.read_bytes()
        resource.prlimit(work.process.pid, resource.RLIMIT_FSIZE, (most, most))
        work.replied("The log can be written again.")
        work.say("480 microns")
        work.replied("480 microns")
        work.end()
        found = work.logged()
    assert work.log.read_bytes().startswith(before)
    assert [line["seq"] for line in found] == list(range(1, len(found) + 1))
    assert [v["data"]["value"] for v in found if v["kind"] == "reading-taken"] == [
        "900", "950", "480"]
    assert sum(line["kind"] == "timer-finished" for line in found) == 1
    troubles = [reply for reply in work.replies() if "cannot be written" in reply]
    assert len(troubles) == 1  # it is said once; the tick added none
