"""What `fieldvoice work` says where a seal or a procedure cannot be kept, and where lines wait."""

import errno
import io
import os
from collections.abc import Callable
from pathlib import Path

import pytest

from fieldvoice.__main__ import main
from fieldvoice.devices.joblog import job_folder, read_log, register_path, rescues, verify
from fieldvoice.jobstate.events import JobStarted, LineHeard
from support.small_procedure import TEXT

Capture = pytest.CaptureFixture[str]
Patch = pytest.MonkeyPatch
Typed = Callable[..., int]
WRITE_WHOLE = "fieldvoice.devices.joblog.procedures.write_whole"


@pytest.fixture
def typed(tmp_path: Path, monkeypatch: Patch) -> Typed:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.chdir(tmp_path)
    (tmp_path / "small.procedure").write_text(TEXT, encoding="utf-8")

    def work(lines: str, *arguments: str) -> int:
        monkeypatch.setattr("sys.stdin", io.StringIO(lines))
        return main(["work", "small.procedure", "--job", "a", *arguments])

    return work


def said(capsys: Capture) -> str:
    return " ".join("".join(capsys.readouterr()).split())


def heard() -> list[str]:
    return [v.event.words for v in read_log(job_folder("a")).entries
            if isinstance(v.event, LineHeard)]


def test_why_a_job_is_not_sealed_is_told_once(typed: Typed, capsys: Capture) -> None:
    register_path().mkdir(parents=True)  # where the register should be written
    assert typed("understood\nvacuum 410 microns\nwhere are we\n") == 0
    told = said(capsys)
    assert told.count("this job is not sealed") == 1
    assert "seals.jsonl" in told
    assert (verify(job_folder("a")).intact, verify(job_folder("a")).sealed) == (True, "sealed")
    register_path().rmdir()
    typed("what now\n")
    assert "is not sealed" not in said(capsys)


def test_a_seal_that_finds_no_room_is_told_and_the_work_goes_on(
    typed: Typed, capsys: Capture, monkeypatch: Patch
) -> None:
    typed("understood\n")
    capsys.readouterr()

    def full(path: Path, data: bytes) -> None:
        raise OSError(errno.ENOSPC, "No space left on device", str(path))

    monkeypatch.setattr("fieldvoice.devices.joblog.sealing.write_whole", full)
    assert typed("vacuum 410 microns\n") == 0
    told = said(capsys)
    assert told.count("this job is not sealed (") == 1
    assert "seal.json: No space left on device" in told
    found = verify(job_folder("a"))
    assert (found.intact, found.sealed) == (True, "unsealed-tail")
    assert heard() == ["understood", "vacuum 410 microns"]


def linked(path: Path) -> None:
    path.symlink_to("/etc/passwd")


@pytest.mark.parametrize("deed", [os.mkdir, os.mkfifo, linked])
def test_whatever_lies_where_the_seal_was_a_mend_puts_it_aside(
    typed: Typed, deed: Callable[[Path], None]
) -> None:
    typed("understood\n")
    (job_folder("a") / "seal.json").unlink()
    deed(job_folder("a") / "seal.json")
    assert typed("vacuum 410 microns\n") == 2
    assert typed("vacuum 410 microns\n", "--mend") == 0
    assert os.path.lexists(job_folder("a") / "seal-1.json")
    found = verify(job_folder("a"))
    assert (found.intact, found.sealed) == (True, "sealed")


def test_a_unit_whose_procedure_cannot_be_kept_is_not_begun(
    typed: Typed, capsys: Capture, monkeypatch: Patch
) -> None:
    from fieldvoice.devices.joblog import procedures

    written = procedures.write_whole

    def full(path: Path, data: bytes, **mode: int) -> None:
        if path.name == "procedure-2.txt":
            raise OSError(errno.ENOSPC, "No space left on device", str(path))
        written(path, data, **mode)

    monkeypatch.setattr(WRITE_WHOLE, full)
    lines = "understood\nnew unit two with evacuate-and-release\nvacuum 410 microns\n"
    assert typed(lines) == 0
    told = said(capsys)
    assert ("The unit is not begun, its procedure cannot be kept: the disk is full. "
            "What you said is not kept.") in told
    assert "The log cannot be written" not in told
    assert "The log can be written again" not in told
    assert heard() == ["understood", "vacuum 410 microns"]
    monkeypatch.setattr(WRITE_WHOLE, written)
    assert typed("new unit two with evacuate-and-release\n") == 0
    assert sum(isinstance(v.event, JobStarted) for v in read_log(job_folder("a")).entries) == 2
    assert verify(job_folder("a")).intact


def test_the_closing_words_say_where_the_lines_are_that_wait(
    typed: Typed, capsys: Capture, monkeypatch: Patch
) -> None:
    typed("understood\n")
    capsys.readouterr()
    written, log = os.write, (job_folder("a") / "log.jsonl").stat()

    def full(fd: int, data: bytes) -> int:
        if os.path.samestat(os.fstat(fd), log):
            raise OSError(errno.ENOSPC, "No space left on device")
        return written(fd, data)

    monkeypatch.setattr(os, "write", full)
    with monkeypatch.context() as late:
        late.setattr("fieldvoice.commands.wiring.open_job.OpenJob._start", lambda *told: None)
        assert typed("vacuum 410 microns\n") == 1
    told = said(capsys)
    (rescue,) = rescues(job_folder("a"))
    assert f"The job is in {job_folder('a')}, but for the lines that wait in {rescue}" in told
    assert "The job is kept in" not in told
    assert "this job is not sealed" not in told  # why is told already
    monkeypatch.undo()
