"""A file is written whole or not at all."""

import errno
import os
from pathlib import Path

import pytest

from fieldvoice.devices.whole_file import write_whole


def test_a_file_is_written_and_replaced(tmp_path: Path) -> None:
    path = tmp_path / "report.html"
    write_whole(path, b"one")
    write_whole(path, b"two")
    assert path.read_bytes() == b"two"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("call", ["fsync", "open", "replace"])
def test_what_fails_leaves_the_old_file_and_nothing_half_written(
    call: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "report.html"
    path.write_bytes(b"old")

    def full(*_: object) -> int:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(*((Path, call) if call == "replace" else (os, call)), full)
    with pytest.raises(OSError, match=r"No space left on device: '.*report\.html'"):
        write_whole(path, b"new")
    monkeypatch.undo()
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


def test_a_link_is_replaced_and_not_followed(tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.write_bytes(b"of somebody else")
    (tmp_path / "report.html").symlink_to(other)
    write_whole(tmp_path / "report.html", b"new")
    assert other.read_bytes() == b"of somebody else"
    assert (tmp_path / "report.html").read_bytes() == b"new"


def test_its_mode_is_as_asked_for(tmp_path: Path) -> None:
    write_whole(tmp_path / "own", b"", mode=0o600)
    assert (tmp_path / "own").stat().st_mode & 0o777 == 0o600


def test_a_name_as_long_as_the_system_allows(tmp_path: Path) -> None:
    write_whole(tmp_path / ("n" * 255), b"x")
    assert (tmp_path / ("n" * 255)).read_bytes() == b"x"
