"""A log that something else changes while it is written: nothing is written into the void."""

import os
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from fieldvoice.devices.joblog import (
    JobLog,
    JobLogError,
    LogDisturbed,
    RescueFile,
    bring_back,
    parse_log,
    read_log,
    read_procedure,
)
from fieldvoice.jobstate.events import Said

AT = datetime(2026, 3, 2, 14, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    with JobLog.create(tmp_path / "job", "the procedure\n") as log:
        for text in ("one", "two"):
            log.append(Said(text, "answer"), AT)
    return tmp_path / "job"


def _said(raw: bytes) -> list[str]:
    return [v.event.text for v in parse_log(raw, "log").entries if isinstance(v.event, Said)]


def _in_place(folder: Path, change: Callable[[bytes], bytes]) -> None:
    """As an editor that keeps the file does it."""
    log = folder / "log.jsonl"
    raw = log.read_bytes()
    with log.open("r+b") as file:
        file.truncate(0)
        file.write(change(raw))


def _replaced(folder: Path) -> None:
    raw = (folder / "log.jsonl").read_bytes()
    (folder / "new").write_bytes(raw)
    (folder / "new").replace(folder / "log.jsonl")


def _folder_replaced(folder: Path) -> None:
    folder.rename(folder.with_name("moved"))
    folder.mkdir()


def _linked(folder: Path) -> None:
    (folder / "log.jsonl").rename(folder.with_name("elsewhere"))
    (folder / "log.jsonl").symlink_to(folder.with_name("elsewhere"))


def _lock_replaced(folder: Path) -> None:
    (folder / "lock").unlink()
    (folder / "lock").write_bytes(b"")


DEEDS: dict[str, tuple[Callable[[Path], object], str]] = {
    "lock removed": (lambda f: (f / "lock").unlink(), "lock was removed"),
    "lock replaced": (_lock_replaced, "lock was removed or replaced"),
    "log removed": (lambda f: (f / "log.jsonl").unlink(), "the log was removed"),
    "log replaced": (_replaced, "the log was replaced"),
    "log linked": (_linked, "the log was"),
    "log given another name": (lambda f: os.link(f / "log.jsonl", f / "x"), "second name"),
    "log emptied": (lambda f: _in_place(f, lambda raw: b""), "cut short"),
    "last line cut": (lambda f: _in_place(f, lambda raw: raw[:-9]), "cut short"),
    "log grown": (lambda f: _in_place(f, lambda raw: raw + b"{}\n"), "something else wrote"),
    "line changed": (lambda f: _in_place(f, lambda raw: raw.replace(b"two", b"too")), "changed"),
    "folder renamed": (lambda f: f.rename(f.with_name("moved")), "folder was moved"),
    "folder replaced": (_folder_replaced, "folder was moved"),
}


@pytest.mark.parametrize("name", DEEDS)
def test_a_disturbed_log_is_left_alone_and_all_lines_are_in_the_rescue_file(
    name: str, folder: Path, tmp_path: Path
) -> None:
    deed, why = DEEDS[name]
    with JobLog(folder) as log:
        log.file.keep_aside(RescueFile("job", AT))
        log.append(Said("three", "answer"), AT)
        deed(folder)
        after = {p: p.read_bytes() for p in tmp_path.rglob("log.jsonl")}
        log.append(Said("four", "answer"), AT)
        log.append(Said("five", "answer"), AT)
        assert isinstance(log.file.trouble, LogDisturbed)
        assert why in str(log.file.trouble)
        assert log.file.rescue is not None
        rescued = log.file.rescue.read_bytes()
    assert _said(rescued) == ["one", "two", "three", "four", "five"]
    assert parse_log(rescued, "rescue").notices == ()
    assert {p: p.read_bytes() for p in after} == after


def test_without_a_rescue_file_it_is_refused(folder: Path) -> None:
    with JobLog(folder) as log:
        _in_place(folder, lambda raw: raw + b"{}\n")
        raw = (folder / "log.jsonl").read_bytes()
        with pytest.raises(LogDisturbed, match="something else wrote"):
            log.append(Said("three", "answer"), AT)
    assert (folder / "log.jsonl").read_bytes() == raw


def test_a_touched_log_is_gone_on_with(folder: Path) -> None:
    with JobLog(folder) as log:
        os.utime(folder / "log.jsonl", (1, 1))
        log.append(Said("three", "answer"), AT)
        (folder / "log.jsonl").chmod(0o640)
        log.append(Said("four", "answer"), AT)
    assert read_log(folder).notices == ()


def test_what_is_put_back_as_it_was_is_gone_on_with(folder: Path) -> None:
    with JobLog(folder) as log:
        log.file.keep_aside(RescueFile("job", AT))
        away = folder.rename(folder.with_name("away"))
        log.append(Said("three", "answer"), AT)
        rescue = log.file.rescue
        assert rescue is not None
        away.rename(folder)
        log.append(Said("four", "answer"), AT)
        assert (log.file.trouble, log.file.waiting) == (None, b"")
        assert not rescue.exists()
    assert _said((folder / "log.jsonl").read_bytes()) == ["one", "two", "three", "four"]
    assert read_log(folder).notices == ()


@pytest.mark.parametrize("deed", ["lock removed", "log emptied", "last line cut", "log removed"])
def test_rescued_lines_come_back_where_the_log_is_their_beginning(
    deed: str, folder: Path
) -> None:
    with JobLog(folder) as log:
        log.file.keep_aside(RescueFile("job", AT))
        DEEDS[deed][0](folder)
        log.append(Said("three", "answer"), AT)
        rescue = log.file.rescue
    assert rescue is not None
    assert len(bring_back(folder)) == 1
    assert not rescue.exists()
    assert rescue.with_suffix(".brought-back").exists()
    with JobLog(folder) as log:
        assert [v.event for v in log.entries] == [
            Said(text, "answer") for text in ("one", "two", "three")]
    assert bring_back(folder) == ()


def test_rescued_lines_are_not_put_into_a_log_that_they_do_not_follow(folder: Path) -> None:
    with JobLog(folder) as log:
        log.file.keep_aside(RescueFile("job", AT))
        _in_place(folder, lambda raw: raw.replace(b"two", b"too"))
        log.append(Said("three", "answer"), AT)
        rescue = log.file.rescue
    assert rescue is not None
    before = (folder / "log.jsonl").read_bytes()
    (told,) = bring_back(folder)
    assert str(rescue) in told
    assert "not what they follow" in told
    assert (rescue.exists(), (folder / "log.jsonl").read_bytes()) == (True, before)


@pytest.mark.parametrize("name", ["log.jsonl", "lock", "clips"])
def test_a_link_in_a_job_is_not_followed(name: str, folder: Path, tmp_path: Path) -> None:
    (folder / name).rename(tmp_path / "other")
    (folder / name).symlink_to(tmp_path / "other")
    with pytest.raises(JobLogError), JobLog(folder):
        pass


def test_nothing_is_written_through_a_link_when_a_job_begins(tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.write_bytes(b"of somebody else")
    (tmp_path / "job").mkdir()
    (tmp_path / "job" / "lock").symlink_to(other)
    with pytest.raises(JobLogError, match="link"):
        JobLog.create(tmp_path / "job", "text")
    assert other.read_bytes() == b"of somebody else"


def test_a_linked_procedure_is_not_read(folder: Path, tmp_path: Path) -> None:
    (folder / "procedure.txt").rename(tmp_path / "other")
    (folder / "procedure.txt").symlink_to(tmp_path / "other")
    with pytest.raises(JobLogError, match="link"):
        read_procedure(folder)
