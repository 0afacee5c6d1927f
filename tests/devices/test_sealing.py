"""Seals and their register: written past nobody's link, by many at once, and read however damaged.
"""

import os
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from fieldvoice.devices.joblog import JobLog, register_path, verify
from fieldvoice.devices.joblog.sealing import (
    broken_register_lines,
    hash_fits,
    read_seal,
    register_trouble,
    registered,
)
from fieldvoice.jobstate.events import JobFinished, Said

AT = datetime(2026, 3, 2, 14, tzinfo=UTC)
MANY = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from fieldvoice.devices.joblog.sealing import OwnFiles, register, seal_of
folder = Path(sys.argv[1])
seal = seal_of(folder, "job", "stopped", (1, "0" * 64, "1" * 64), [], OwnFiles(), datetime.now(UTC))
sys.stdin.readline()
for _ in range(100):
    register(seal)
"""


@pytest.fixture(autouse=True)
def _data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    with JobLog.create(tmp_path / "job", "the procedure\n") as log:
        log.append(Said("one", "answer"), AT)
    return tmp_path / "job"


def more(folder: Path) -> JobLog:
    """Something appended, sealed."""
    with JobLog(folder) as log:
        log.append(Said("more", "answer"), AT)
    return log


@pytest.mark.parametrize("name", ["seal.json", "seal.json.new"])
def test_a_seal_is_not_written_through_a_link(folder: Path, tmp_path: Path, name: str) -> None:
    away = tmp_path / "elsewhere"
    away.write_text("mine")
    with JobLog(folder) as log:
        log.append(Said("more", "answer"), AT)
        (folder / name).unlink(missing_ok=True)
        (folder / name).symlink_to(away)
    assert away.read_text() == "mine"
    assert (verify(folder).sealed, verify(folder).faults) == ("sealed", ())


@pytest.mark.parametrize("how", [os.symlink, os.link])
def test_the_register_is_not_written_through_a_link(
    folder: Path, tmp_path: Path, how: object
) -> None:
    away = tmp_path / "elsewhere"
    away.write_text("mine")
    register_path().unlink()
    assert callable(how)
    how(away, register_path())
    assert str(register_path()) in more(folder).unsealed
    assert away.read_text() == "mine"
    assert verify(folder).intact  # the seal in the folder stands


def test_a_pipe_holds_nobody_up(folder: Path) -> None:
    for path in (folder / "seal.json", register_path()):
        path.unlink()
        os.mkfifo(path)
    assert "seal.json: cannot be believed: " in str(verify(folder).faults[0])
    assert list(registered()) == []
    assert "cannot be read" in register_trouble()


def test_many_write_in_the_register_at_once(folder: Path) -> None:
    before = len(list(registered()))
    many = [subprocess.Popen([sys.executable, "-c", MANY, str(folder)], stdin=subprocess.PIPE)
            for _ in range(3)]
    for one in many:
        one.communicate(b"go\n", timeout=120)
    assert len(list(registered())) == before + 300
    assert broken_register_lines() == []


def test_a_damaged_register_keeps_its_other_lines(folder: Path) -> None:
    raw = register_path().read_bytes()
    rubbish = b"\xff\x00[[[\n" + b"{}\n" + b"[" * 200_000 + b"\n"
    register_path().write_bytes(rubbish + raw + b'{"v": 1, "job"')  # half a line at its end
    assert len(list(registered(folder))) == raw.count(b"\n")
    assert broken_register_lines() == [1, 2, 3, 4 + raw.count(b"\n")]
    more(folder)
    assert len(list(registered(folder))) == raw.count(b"\n") + 1
    assert hash_fits(register_path().read_bytes().splitlines()[-1])


def test_a_huge_register_is_read_line_by_line(folder: Path) -> None:
    raw = register_path().read_bytes()
    with register_path().open("wb") as file:
        file.truncate(100_000_000)  # one line without an end: a hole, so it takes no room
        file.seek(0, os.SEEK_END)
        file.write(b"\n" + raw)
    assert len(list(registered(folder))) == raw.count(b"\n")
    assert more(folder).unsealed == ""


def test_a_huge_seal_is_not_believed(folder: Path) -> None:
    with (folder / "seal.json").open("wb") as file:
        file.truncate(100_000_000)
    assert "it is longer than any seal" in str(verify(folder).faults[0])


def test_a_register_that_cannot_be_written_is_told_and_the_next_seal_is_there_again(
    folder: Path
) -> None:
    register_path().rename(register_path().with_name("was"))
    register_path().mkdir()
    assert more(folder).unsealed
    register_path().rmdir()
    assert more(folder).unsealed == ""
    assert [seal.lines for seal in registered(folder)] == [3]


def test_a_job_that_begins_unregistered_says_so(tmp_path: Path) -> None:
    register_path().mkdir(parents=True)
    with JobLog.create(tmp_path / "other", "text") as log:
        assert "seals.jsonl" in log.unsealed


def test_the_register_knows_the_end_of_a_finished_job(folder: Path) -> None:
    with JobLog(folder) as log:
        log.append(JobFinished("done"), AT)
        seal = read_seal(folder)
        assert seal is not None
        assert (seal.why, seal.lines) == ("checkpoint", 2)
    assert [seal.lines for seal in registered(folder)][-1] == 2


def test_a_procedure_altered_at_work_is_not_sealed(folder: Path) -> None:
    seal = read_seal(folder)
    assert seal is not None
    with JobLog(folder) as log:
        (folder / "procedure.txt").write_text("another\n")
        log.append(Said("more", "answer"), AT)
    again = read_seal(folder)
    assert again is not None
    assert (again.lines, again.procedures) == (2, seal.procedures)
    assert "is not the text that the job was sealed with" in str(verify(folder).faults)


def test_a_job_that_is_opened_and_closed_keeps_its_seal(folder: Path) -> None:
    before = (folder / "seal.json").read_bytes(), register_path().read_bytes()
    JobLog(folder).close()
    assert ((folder / "seal.json").read_bytes(), register_path().read_bytes()) == before
