"""What bears a name in a job's folder, a broken link too, is never written over."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path

import pytest

from fieldvoice.devices.free_name import first_free, made_free, numbered
from fieldvoice.devices.joblog import JobLog
from fieldvoice.devices.joblog.attachments import keep_attachment
from fieldvoice.devices.joblog.clips import save_clip
from fieldvoice.devices.joblog.procedures import keep_procedure, restore_procedure
from fieldvoice.devices.joblog.sealed_work import set_aside_seal
from fieldvoice.devices.whole_file import write_whole
from fieldvoice.jobstate.events import StepOpened
from support.bench import START


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    folder = tmp_path / "job"
    with JobLog.create(folder, "text") as log:
        log.append(StepOpened("s", "x"), START)
    return folder


def attached(folder: Path) -> None:
    source = folder.parent / "plate.jpg"
    source.write_bytes(b"x")
    keep_attachment(folder, source)


def opened_torn(folder: Path) -> None:
    with (folder / "log.jsonl").open("ab") as file:
        file.write(b'{"half')
    JobLog(folder).close()


DEEDS: dict[str, Callable[[Path], object]] = {
    "torn-1.txt": opened_torn,
    "procedure-2.txt": lambda folder: keep_procedure(folder, "another"),
    "altered-procedure-1.txt": lambda folder: restore_procedure(folder, "text"),
    "seal-1.json": set_aside_seal,
    "clips/000002.wav": lambda folder: save_clip(folder, 2, b"\0\0"),
    "attachments/002-plate.jpg": attached,
}


@pytest.mark.parametrize("name", DEEDS)
def test_a_broken_link_of_that_name_stays_what_it_is(folder: Path, name: str) -> None:
    link = folder / name
    link.parent.mkdir(exist_ok=True)
    link.symlink_to("nowhere")
    DEEDS[name](folder)
    assert link.is_symlink()
    beside = [path for path in link.parent.iterdir()
              if path != link and path.suffix == link.suffix and path.name != "procedure.txt"]
    assert beside


def test_two_who_keep_something_at_once_both_keep_it(tmp_path: Path) -> None:
    def keep(number: int) -> Path:
        data = str(number).encode()
        return made_free(tmp_path, numbered("kept-{}.txt"), partial(write_whole, data=data,
                                                                    new=True))

    with ThreadPoolExecutor(8) as pool:
        paths = list(pool.map(keep, range(60)))
    assert [int(path.read_text()) for path in paths] == list(range(60))
    assert sorted(tmp_path.iterdir()) == sorted(paths)


def test_a_name_taken_in_between_is_left_and_the_next_one_taken(tmp_path: Path) -> None:
    tried = []

    def make(path: Path) -> None:
        tried.append(path.name)
        if len(tried) == 1:
            path.write_bytes(b"of another")
        write_whole(path, b"ours", new=True)

    assert made_free(tmp_path, numbered("{}.txt"), make).read_bytes() == b"ours"
    assert tried == ["1.txt", "2.txt"]
    assert (tmp_path / "1.txt").read_bytes() == b"of another"
    assert first_free(tmp_path, numbered("{}.txt")).name == "3.txt"


def test_a_sound_whose_name_was_taken_in_between_does_not_remove_that_one(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (folder / "clips" / "000002.wav").write_bytes(b"of another")
    real, told = os.path.lexists, list[Path]()

    def late(path: Path) -> bool:
        told.append(path)
        return len(told) > 1 and real(path)  # it was not there yet when it was looked for

    monkeypatch.setattr("os.path.lexists", late)
    assert save_clip(folder, 2, b"\0\0").path == "clips/000002-2.wav"
    assert (folder / "clips" / "000002.wav").read_bytes() == b"of another"
