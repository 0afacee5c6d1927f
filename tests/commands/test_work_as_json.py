"""`fieldvoice work --json`: a program reads each event and reply while the job goes on."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from fieldvoice.commands.work import EXAMPLE
from fieldvoice.devices.joblog import LOG_NAME
from fieldvoice.dialogue.assistant import DEFERENCE
from support.small_procedure import TEXT, TIGHT_JOB

PATIENCE_S = 60
Found = dict[str, Any]


class Worked:
    """The command as a process of its own, with a pipe at each end."""

    def __init__(self, folder: Path, *options: str) -> None:
        (folder / "small.procedure").write_text(TEXT, encoding="utf-8")
        self.log = folder / "job" / LOG_NAME
        self.read: list[Found] = []
        self.process = subprocess.Popen(
            [sys.executable, "-m", "fieldvoice", "work", "small.procedure", "--job", "./job",
             "--typed", "--json", *options],
            cwd=folder, text=True, encoding="utf-8", env={**os.environ, "PYTHONUTF8": "1"},
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        )  # fmt: skip

    def say(self, line: str) -> None:
        assert self.process.stdin is not None
        self.process.stdin.write(f"{line}\n")
        self.process.stdin.flush()

    def until(self, **wanted: object) -> Found:
        """Read, one line at a time, until an object has these values."""
        out = self.process.stdout
        assert out is not None
        for line in iter(out.readline, ""):
            self.read.append(json.loads(line))
            if wanted.items() <= self.read[-1].items():
                return self.read[-1]
        raise AssertionError(f"no {wanted} in {self.read}")

    def end(self) -> str:
        """Close the input and read to the end; what was told beside the lines."""
        assert self.process.stdin is not None
        self.process.stdin.close()
        assert self.process.stdout is not None
        assert self.process.stderr is not None
        self.read += [json.loads(line) for line in self.process.stdout]
        assert self.process.wait(PATIENCE_S) == 0
        return self.process.stderr.read()

    def events(self) -> list[Found]:
        return [found for found in self.read if "kind" in found]


@contextmanager
def worked(folder: Path, *options: str) -> Iterator[Worked]:
    job = Worked(folder, *options)
    with job.process:
        try:
            yield job
        finally:
            job.process.kill()


def logged(path: Path) -> list[Found]:
    """The log's lines, without what chains them."""
    found = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
    chain = ("turn", "turn_lines", "job", "mono", "boot", "prev", "hash")
    return [{k: v for k, v in line.items() if k not in chain} for line in found]


def test_events_and_replies_come_while_the_job_goes_on(tmp_path: Path) -> None:
    with worked(tmp_path) as job:
        job.until(tone="caution", reply=DEFERENCE)
        job.say("understood")
        job.until(reply="Run the pump and read the gauge.", tone="prompt")
        job.say("vacuum 900 microns")
        taken = job.until(kind="reading-taken")
        assert (taken["data"]["quantity"], taken["data"]["value"]) == ("vacuum", "900")
        job.until(reply="900 microns. That is above 500 microns.", tone="answer")
        job.say("correction 480")
        corrected = job.until(kind="reading-corrected")
        assert corrected["data"]["corrects"] == taken["seq"]
        assert job.process.poll() is None  # it waits for more
        assert logged(job.log)[: corrected["seq"]] == job.events()
        job.end()
        assert logged(job.log) == job.events()


def test_a_reply_comes_after_the_events_that_it_rests_on(tmp_path: Path) -> None:
    with worked(tmp_path) as job:
        job.say("understood")
        job.end()
    place = next(n for n, found in enumerate(job.read) if found.get("kind") == "line-heard")
    turn = job.read[place:]
    is_reply = ["reply" in found for found in turn]
    assert is_reply == sorted(is_reply)
    said = [found["data"]["text"] for found in turn if found.get("kind") == "said"]
    assert said == [found["spoken"] for found in turn if "reply" in found]


def test_in_practice_a_whole_job_is_worked_and_everything_else_goes_to_standard_error(
    tmp_path: Path,
) -> None:
    with worked(tmp_path, "--practice") as job:
        for seconds, words in TIGHT_JOB:
            job.say(f"+{seconds}s")
            job.say(words)
        job.say("+soon")
        beside = job.end()
    assert job.events()[-2]["data"] == {"ending": "released"}
    assert logged(job.log) == job.events()
    told = {"v", "seq", "utc", "offset", "kind", "data"}
    assert all(set(found) in (told, {"reply", "tone", "spoken"}) for found in job.read)
    assert "Report with: fieldvoice report ./job" in beside


def test_a_notice_goes_to_standard_error(tmp_path: Path) -> None:
    with worked(tmp_path, "--practice") as job:
        job.say("+soon")
        beside = job.end()
    assert "'+soon' is no span of time" in beside
    assert "Go on with: fieldvoice work small.procedure --job ./job" in beside


def test_an_end_of_reading_stops_the_work_and_leaves_the_log_whole(tmp_path: Path) -> None:
    with worked(tmp_path) as job:
        job.until(spoken="Never put oxygen into the system. Say understood.")  # the last at first
        assert job.process.stdout is not None
        job.process.stdout.close()
        job.say("understood")
        assert job.process.wait(PATIENCE_S) == 0
    assert "line-heard" in [line["kind"] for line in logged(job.log)]


@pytest.mark.parametrize("needed", ["--json", "log.jsonl", "standard error", '"reply"', '"kind"'])
def test_the_help_tells_it_with_an_example(needed: str) -> None:
    assert needed in EXAMPLE
