"""What a log names is read only where it lies in the job's own folder."""

import os
from pathlib import Path

import pytest

from fieldvoice.devices.joblog import JobLogError, clip_path, path_inside, read_inside


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "job" / "clips").mkdir(parents=True)
    (tmp_path / "job" / "clips" / "000012.wav").write_bytes(b"sound")
    (tmp_path / "secret").write_bytes(b"of somebody else")
    return tmp_path / "job"


def test_a_clip_is_found_and_read(folder: Path) -> None:
    assert clip_path(folder, "clips/000012.wav") == folder / "clips" / "000012.wav"
    assert read_inside(folder, "clips/000012.wav") == b"sound"


@pytest.mark.parametrize("name", [
    "/etc/passwd", "../secret", "clips/../../secret", "clips/../log.jsonl", "log.jsonl", "", ".",
    "..\\secret", "clips\\..\\..\\secret", "C:/secret", "clips/C:secret", "clips/a\0b", "clips",
    "//host/share", "clips/none.wav", "clips/" + "n" * 300, "clips//../../secret", "clips/",
])  # fmt: skip
def test_a_name_that_leads_elsewhere_is_refused(name: str, folder: Path) -> None:
    with pytest.raises(JobLogError):
        clip_path(folder, name)


def test_links_are_not_followed(folder: Path, tmp_path: Path) -> None:
    (folder / "clips" / "1.wav").symlink_to(tmp_path / "secret")
    with pytest.raises(JobLogError, match="symbolic link"):
        clip_path(folder, "clips/1.wav")
    os.link(tmp_path / "secret", folder / "clips" / "2.wav")
    with pytest.raises(JobLogError, match="hard link"):
        clip_path(folder, "clips/2.wav")
    (folder / "more").symlink_to(tmp_path)
    with pytest.raises(JobLogError, match="symbolic link"):
        path_inside(folder, "more/secret")
    (folder / "clips").rename(folder / "other")
    (folder / "clips").symlink_to(folder / "other")
    with pytest.raises(JobLogError, match="symbolic link"):
        clip_path(folder, "clips/000012.wav")


def test_a_pipe_in_its_place_holds_nobody_up(folder: Path) -> None:
    os.mkfifo(folder / "clips" / "1.wav")
    with pytest.raises(JobLogError, match="no file"):
        read_inside(folder, "clips/1.wav")
