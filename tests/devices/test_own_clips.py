"""A sound that the log does not tell of is never sealed as the job's own, however it came there."""

import os
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from fieldvoice.devices.joblog import JobLog, read_log, verify
from fieldvoice.devices.joblog.sealing import read_seal
from fieldvoice.jobstate.events import Clip, Entry, JobFinished, LineHeard, Said, VerdictGiven

AT = datetime(2026, 3, 2, 14, tzinfo=UTC)
STRANGE = "clips/000002-9.wav"  # a name as the log itself gives one
TOLD = "belongs to no line: it was put there, or its line is gone"


@pytest.fixture(autouse=True)
def _data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


def spoken(log: JobLog, clip: Clip) -> None:
    log.append(LineHeard("next", "voice", {}, 0.9, clip.path, clip_sha256=clip.sha256,
                         clip_bytes=clip.bytes), AT)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    with JobLog.create(tmp_path / "job", "the procedure\n") as log:
        spoken(log, log.save_clip(b"\1\0" * 160))
    return tmp_path / "job"


def put(folder: Path, name: str = STRANGE) -> None:
    (folder / name).write_bytes(b"RIFF of somebody else")


def told(folder: Path) -> list[str]:
    return list(map(str, verify(folder).faults))


def closed(log: JobLog) -> None:
    log.append(Said("more", "answer"), AT)


def finished(log: JobLog) -> None:
    log.append(JobFinished("done"), AT)


def judged(log: JobLog) -> None:
    log.append(VerdictGiven("decay", "tight", {}), AT)


@pytest.mark.parametrize("seal", [closed, finished, judged])
def test_a_file_put_into_an_open_job_is_not_sealed_and_told_for_ever(
    folder: Path, seal: Callable[[JobLog], None]
) -> None:
    with JobLog(folder) as log:
        put(folder)
        seal(log)
        spoken(log, log.save_clip(b"\2\0" * 160))
    for _ in range(3):
        found = read_seal(folder)
        assert found is not None
        assert (found.loose, found.clips, verify(folder).sealed) == ([], 2, "sealed")
        assert told(folder) == [f"{STRANGE}: {TOLD}"]
        with JobLog(folder) as log:
            closed(log)


def test_a_file_put_into_a_closed_job_is_not_sealed_by_going_on(folder: Path) -> None:
    put(folder)
    assert told(folder) == [f"{STRANGE}: {TOLD}"]
    with JobLog(folder) as log:
        closed(log)
    assert told(folder) == [f"{STRANGE}: {TOLD}"]


def test_a_file_under_the_name_of_the_next_sound_is_not_taken_for_it(folder: Path) -> None:
    with JobLog(folder) as log:
        put(folder, "clips/000002.wav")
        clip = log.save_clip(b"\2\0" * 160)
        assert clip.path == "clips/000002-2.wav"
        spoken(log, clip)
    assert told(folder) == [f"clips/000002.wav: {TOLD}"]


def test_a_sound_whose_line_was_not_logged_is_the_jobs_own(folder: Path) -> None:
    with JobLog(folder) as log:
        clip = log.save_clip(b"\2\0" * 160)
    assert told(folder) == []
    assert any("1 sound belongs to no line" in note for note in verify(folder).notes)
    (folder / clip.path).write_bytes(b"another")
    assert told(folder) == [f"{clip.path}: {TOLD}"]


def test_it_is_sealed_as_it_was_kept_not_as_it_is_by_then(folder: Path) -> None:
    with JobLog(folder) as log:
        clip = log.save_clip(b"\2\0" * 160)
        put(folder, clip.path)
        closed(log)
    assert told(folder) == [f"{clip.path}: {TOLD}"]


def killed_with_a_sound(folder: Path, before: Callable[[JobLog], None] = closed) -> str:
    """The log and its seal as a kill leaves them between a sound and its line."""
    log = JobLog(folder)
    before(log)
    path = log.save_clip(b"\2\0" * 160).path
    log.let_go()
    return path


@pytest.mark.parametrize("before", [closed, judged])
def test_the_sound_that_a_kill_left_stays_the_jobs_own_through_more_kills(
    folder: Path, before: Callable[[JobLog], None]
) -> None:
    paths = []
    for _ in range(3):
        paths.append(killed_with_a_sound(folder, before))
        assert told(folder) == []
    with JobLog(folder) as log:
        closed(log)
    assert told(folder) == []
    seal = read_seal(folder)
    assert seal is not None
    assert [one.file for one in seal.loose] == paths


def test_after_a_kill_no_other_name_is_taken_in(folder: Path) -> None:
    path = killed_with_a_sound(folder)
    put(folder)
    put(folder, path.replace(".wav", "x.wav"))
    with JobLog(folder) as log:
        closed(log)
    assert told(folder) == [f"{STRANGE}: {TOLD}", f"{path[:-4]}x.wav: {TOLD}"]


def test_what_a_mend_found_is_named_in_the_log_with_its_hash(folder: Path) -> None:
    put(folder)
    path = folder / "log.jsonl"
    path.write_bytes(path.read_bytes().replace(b'"next"', b'"back"'))
    with JobLog(folder, mend=True) as log:
        event = log.mending()
        assert event is not None
        assert list(event.loose) == [STRANGE]
        put(folder, "clips/000077.wav")  # after that
        log.append_all([Entry(log.next_seq, AT, event)])
    assert told(folder) == [f"clips/000077.wav: {TOLD}"]
    (folder / STRANGE).write_bytes(b"another")
    assert told(folder) == [f"{STRANGE}: {TOLD}", f"clips/000077.wav: {TOLD}"]
    assert read_log(folder).entries[-1].event == event


def test_a_mend_names_files_whose_names_are_no_text(folder: Path) -> None:
    (folder / os.fsdecode(b"clips/\xff\xfe.wav")).write_bytes(b"RIFF")
    path = folder / "log.jsonl"
    path.write_bytes(path.read_bytes().replace(b'"next"', b'"back"'))
    with JobLog(folder, mend=True) as log:
        event = log.mending()
        assert event is not None
        log.append_all([Entry(log.next_seq, AT, event)])
        assert log.unsealed == ""
    assert len(read_log(folder).entries) == 1
