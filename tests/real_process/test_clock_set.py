"""The wall clock is set while a real process works, and while none does: Debian's faketime."""

from __future__ import annotations

import os
import re
import sys
from pathlib import Path

import pytest

from support.real_work import Found, RealWork

LIBRARIES = sorted(Path("/usr/lib").glob("*/faketime/libfaketimeMT.so.1"))
pytestmark = pytest.mark.skipif(
    sys.platform != "linux" or not (LIBRARIES or "CI" in os.environ),
    reason="needs Debian's package faketime")


class Hands:
    """What a faked wall clock is moved by; the steady clocks stay as they are."""

    def __init__(self, folder: Path) -> None:
        self._file = folder / "faketime"
        self.set(0)

    def set(self, seconds: int) -> None:
        """So far from the real time."""
        aside = self._file.with_suffix(".new")  # never read half written
        aside.write_text(f"{seconds:+d}s\n")
        aside.replace(self._file)

    @property
    def environment(self) -> dict[str, str]:
        """Of a process that is shown this clock."""
        return {"LD_PRELOAD": str(LIBRARIES[0]), "FAKETIME_CACHE_DURATION": "1",
                "FAKETIME_TIMESTAMP_FILE": str(self._file), "FAKETIME_DONT_FAKE_MONOTONIC": "1",
                "NO_FAKE_STAT": "1",
                "FAKETIME_FORCE_MONOTONIC_FIX": "0"}  # else every wait of a thread ends at once


def _jumps(found: list[Found]) -> list[int]:
    return [round(v["data"]["seconds"]) for v in found if v["kind"] == "clock-jumped"]


def _minutes_left(reply: str) -> int:
    found = re.search(r"Oil: (\d+) minutes", reply)
    assert found, reply
    return int(found[1])


@pytest.mark.parametrize("by", [3600, -3600])
def test_a_clock_set_by_an_hour_is_said_and_moves_no_timer(tmp_path: Path, by: int) -> None:
    hands = Hands(tmp_path)
    way = "forward" if by > 0 else "back"
    with RealWork(tmp_path, **hands.environment) as work:
        work.say("start a 40 minute oil timer")
        work.replied("Oil: 40 minutes.")
        hands.set(by)
        work.replied(f"The computer's clock was set {way} 1 hour. Timers go on as they were.")
        work.say("how long left")
        assert 38 <= _minutes_left(work.replied("left.")) <= 40
        work.kill()
        assert _jumps(work.logged()) == [by]
    hands.set(0)  # and back again while no program runs
    with RealWork(tmp_path, **hands.environment) as work:
        assert _minutes_left(work.replied("goes on")) >= 35
        work.replied("The computer's clock was set")
        work.end()
        found = work.logged()
    assert _jumps(found) == [by, -by]
    times = [line["utc"] for line in found]
    assert times == sorted(times)
    assert "timer-finished" not in [line["kind"] for line in found]
