"""The benches on which the real program works say what they waited for in vain, and what came."""

import sys
from pathlib import Path

import pytest

from support import live_program, real_work
from support.real_work import RealWork


def test_what_does_not_come_is_named_with_what_came(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with RealWork(tmp_path) as work:
        work.until(kind="job-started")
        monkeypatch.setattr(real_work, "PATIENCE_S", 0.1)
        with pytest.raises(AssertionError, match=r"with .*'never'.* came in 0\.1 s; .*step-opened"):
            work.until(kind="never")
        with pytest.raises(AssertionError, match=r"contains .*'no such words'.* came in 0\.1 s"):
            work.replied("no such words")
        monkeypatch.undo()
        work.end()
        with pytest.raises(AssertionError, match=r"'never'.* came before the end"):
            work.until(kind="never")


def program_that(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, does: str) -> None:
    """Another program in the place of the real one."""
    script = tmp_path / "program"
    script.write_text(f"#!/bin/sh\n{does}\n")
    script.chmod(0o700)
    monkeypatch.setattr(sys, "executable", str(script))


@pytest.mark.filterwarnings("ignore::pytest.PytestUnhandledThreadExceptionWarning")
def test_after_a_line_that_is_no_json_nobody_waits_for_more(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    program_that(tmp_path, monkeypatch, "echo rubbish; exec sleep 60")
    monkeypatch.setattr(real_work, "PATIENCE_S", 20.0)
    with RealWork(tmp_path) as work, pytest.raises(AssertionError, match="came before the end"):
        work.until(kind="never")


def test_what_a_program_wrote_just_before_its_end_is_seen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    program_that(tmp_path, monkeypatch, "echo all done")
    looked: list[bool] = []

    def written() -> bool:
        """The first look is too early, and the program ends before the next."""
        looked.append(True)
        program.process.wait()
        return len(looked) > 1 and "all done" in program.output

    with live_program.live_program(tmp_path, {}) as program:
        program.wait(written)
        with pytest.raises(AssertionError, match=r"it ended:\r?\nall done"):
            program.wait_for("more")
