"""The job log on disk: nothing that append() returned from is ever lost."""

import errno
import hashlib
import itertools
import json
import os
import re
import subprocess
import sys
import wave
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import fields

from fieldvoice.devices.joblog import (
    JobLog,
    JobLogError,
    WriteRefused,
    job_folder,
    jobs_folder,
    list_jobs,
    parse_log,
    read_log,
    read_procedure,
    register_path,
)
from fieldvoice.devices.joblog.lines import FIRST_PREV, line_hash, with_hash, write_line
from fieldvoice.jobstate.events import (
    KINDS,
    Entry,
    JobStarted,
    LineHeard,
    NoteTaken,
    ReadingTaken,
    Said,
    StepOpened,
)

AT = datetime(2026, 3, 2, 9, 14, 5, 120_000, tzinfo=timezone(timedelta(hours=-5)))
EVENTS = (
    StepOpened("evacuate", "pump-on"),
    LineHeard("four hundred twelve microns", "voice", {"intent": "reading"}, 0.91, "clips/1.wav"),
    ReadingTaken("vacuum", "412", "microns", 54.93, "Pa", "pump-on", line=2, within=True),
    NoteTaken("die Düse tropft, 5 °C"),
    Said("Logged 412 microns.", "answer"),
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    with JobLog.create(tmp_path / "unit-12b", "the procedure\n") as log:
        for second, event in enumerate(EVENTS):
            log.append(event, AT + timedelta(seconds=second))
    return tmp_path / "unit-12b"


def test_what_was_appended_is_read_back_equal(folder: Path) -> None:
    found = read_log(folder)
    assert tuple(entry.event for entry in found.entries) == EVENTS
    assert [entry.seq for entry in found.entries] == [1, 2, 3, 4, 5]
    assert found.entries[1].at == AT + timedelta(seconds=1)
    assert found.entries[1].at.utcoffset() == timedelta(hours=-5)
    assert (found.notices, found.torn) == ((), b"")
    assert read_procedure(folder) == "the procedure\n"


def test_each_line_is_json_and_carries_the_sha256_of_the_line_before(folder: Path) -> None:
    lines = (folder / "log.jsonl").read_bytes().splitlines()
    assert json.loads(lines[0])["prev"] == "0" * 64
    for before, line in itertools.pairwise(lines):
        assert json.loads(line)["prev"] == json.loads(before)["hash"]
    for line in lines:
        own = line[: line.rindex(b', "hash": "')]
        assert json.loads(line)["hash"] == hashlib.sha256(own).hexdigest()
    assert list(json.loads(lines[0])) == [
        "v", "seq", "turn", "turn_lines", "job", "utc", "offset", "mono", "kind", "data", "prev",
        "hash"]
    told = json.loads(lines[0])
    assert (told["job"], told["utc"], told["offset"]) == (
        "unit-12b", "2026-03-02T14:14:05.120000Z", "-05:00")


def test_an_entry_is_on_disk_when_append_returns(folder: Path) -> None:
    with JobLog(folder) as log:
        entry = log.append(Said("Hold starts.", "prompt"), AT)
        assert read_log(folder).entries[-1] == entry
        assert entry.seq == 6


def test_a_killed_writer_loses_nothing_and_leaves_no_lock(tmp_path: Path) -> None:
    script = (
        "import os, sys\n"
        "from datetime import datetime, UTC\n"
        "from pathlib import Path\n"
        "from fieldvoice.devices.joblog import JobLog\n"
        "from fieldvoice.jobstate.events import Said\n"
        "log = JobLog.create(Path(sys.argv[1]), 'x')\n"
        "for n in range(20): log.append(Said(str(n), 'answer'), datetime.now(UTC))\n"
        "os.kill(os.getpid(), 9)\n"
    )
    run = subprocess.run([sys.executable, "-c", script, str(tmp_path / "job")], check=False)
    assert run.returncode != 0
    with JobLog(tmp_path / "job") as log:
        assert [entry.event for entry in log.entries] == [Said(str(n), "answer") for n in range(20)]
        assert log.next_seq == 21


def killed(folder: Path) -> None:
    """As if the writer had been killed before it sealed anything."""
    (folder / "seal.json").unlink()
    register_path().unlink()


@pytest.mark.parametrize("cut", [1, 10, 60, 150])
def test_a_torn_last_line_is_set_aside_and_reported(folder: Path, cut: int) -> None:
    killed(folder)
    path = folder / "log.jsonl"
    whole = path.read_bytes()
    path.write_bytes(whole[:-cut])
    kept = whole[: whole[:-cut].rindex(b"\n") + 1]
    with JobLog(folder) as log:
        assert [entry.event for entry in log.entries] == list(EVENTS[:4])
        assert "cut short" in log.notices[0]
        log.append(EVENTS[4], AT)
    assert path.read_bytes().startswith(kept)
    assert (folder / "torn-1.txt").read_bytes() == whole[len(kept) : -cut]
    after = read_log(folder)
    assert (len(after.entries), after.notices) == (5, ())


def test_a_block_of_zeros_after_a_power_cut_is_set_aside(folder: Path) -> None:
    with (folder / "log.jsonl").open("ab") as file:
        file.write(b"\0" * 512 + b"\n")
    with JobLog(folder) as log:
        assert len(log.entries) == 5
        assert "cut short" in log.notices[0]
    assert read_log(folder).notices == ()


def test_reading_a_torn_log_changes_nothing_on_disk(folder: Path) -> None:
    path = folder / "log.jsonl"
    path.write_bytes(path.read_bytes()[:-30])
    before = path.read_bytes()
    assert len(read_log(folder).entries) == 4
    assert path.read_bytes() == before
    assert not (folder / "torn-1.txt").exists()


@pytest.mark.parametrize(
    ("line", "why"),
    [
        (b"{rubbish}", "line 3"),
        (b"[]", "line 3"),
        (b'{"v": 1}', "line 3"),
        (b'{"v": 1e999}', "line 3"),
        (b'{"v": 2, "seq": 3}', "line 3"),
        (b"", "line 3"),
    ],
)
def test_a_broken_line_in_the_middle_is_told_and_kept_out_and_nothing_is_written_after_it(
    folder: Path, line: bytes, why: str
) -> None:
    path = folder / "log.jsonl"
    lines = path.read_bytes().split(b"\n")
    lines[2] = line
    path.write_bytes(b"\n".join(lines))
    found = read_log(folder)
    assert [entry.seq for entry in found.entries] == [1, 2, 4, 5]
    assert [fault.where for fault in found.faults] == [why]
    with pytest.raises(JobLogError, match=f"{why}.*--mend"):
        JobLog(folder)
    assert path.read_bytes() == b"\n".join(lines)


def faulty(raw: bytes, match: str) -> None:
    """What is told of a log's first fault."""
    assert re.search(match, parse_log(raw, "log").notices[0])


def test_an_unknown_kind_of_event_is_told_with_its_line(folder: Path) -> None:
    raw = (folder / "log.jsonl").read_bytes().replace(b'"reading-taken"', b'"reading-dreamt"')
    faulty(raw, r"log, line 3.*reading-dreamt")


@pytest.mark.parametrize(
    ("kind", "name"), [(kind, f.name) for kind, event in KINDS.items() for f in fields(event)]
)
def test_a_field_of_a_wrong_type_is_told_with_its_line_and_its_name(
    folder: Path, kind: str, name: str
) -> None:
    raw = (folder / "log.jsonl").read_bytes()
    line = {**json.loads(raw.splitlines()[1]), "kind": kind, "data": {name: [None]}}
    faulty(raw + json.dumps(line).encode() + b"\n" + raw, rf"log, line 6.*Expected.*`\$\.{name}\b")


@pytest.mark.parametrize(
    ("name", "value"),
    [("seq", "7"), ("utc", "2026-03-02T09:14:05"), ("utc", 5), ("kind", 1), ("data", []),
     ("prev", None), ("v", "1")],
)  # fmt: skip
def test_an_envelope_of_a_wrong_type_is_told_with_its_line_and_field(
    folder: Path, name: str, value: object
) -> None:
    first, *rest = (folder / "log.jsonl").read_bytes().splitlines()
    line = json.dumps({**json.loads(first), name: value}).encode()
    faulty(b"\n".join([line, *rest, b""]), rf"log, line 1.*`\$\.{name}`")


def test_a_missing_field_is_told_with_its_line_and_its_name(folder: Path) -> None:
    raw = (folder / "log.jsonl").read_bytes().replace(b'"si_unit": "Pa", ', b"")
    faulty(raw, r"log, line 3.*required field `si_unit`")


def test_what_is_read_is_written_again_byte_for_byte(folder: Path) -> None:
    raw = (folder / "log.jsonl").read_bytes()
    told = [json.loads(line) for line in raw.splitlines()]
    again = [
        write_line(entry, line["mono"], line["prev"], job=line["job"])
        for entry, line in zip(parse_log(raw, "log").entries, told, strict=True)
    ]
    assert again == raw.splitlines()


def test_fields_of_a_newer_log_are_passed_over(folder: Path) -> None:
    newer, prev = [], FIRST_PREV
    for raw in (folder / "log.jsonl").read_bytes().splitlines():
        line = json.loads(raw)
        line = {"weather": "fair"} | line | {"data": line["data"] | {"mood": [1]}, "prev": prev}
        del line["hash"]
        newer.append(with_hash(line))
        prev = line_hash(newer[-1])
    found = parse_log(b"\n".join([*newer, b""]), "log")
    assert (tuple(entry.event for entry in found.entries), found.notices) == (EVENTS, ())


def test_a_mark_that_an_editor_puts_before_the_text_is_passed_over(folder: Path) -> None:
    raw = b"\xef\xbb\xbf" + (folder / "log.jsonl").read_bytes()
    found = parse_log(raw, "log")
    assert tuple(entry.event for entry in found.entries) == EVENTS
    assert [str(fault) for fault in found.faults] == [
        "line 1: carries the mark of an editor at its start or end"]


def test_a_changed_value_does_not_count_and_the_line_is_told(folder: Path) -> None:
    path = folder / "log.jsonl"
    path.write_bytes(path.read_bytes().replace(b'"value": "412"', b'"value": "402"'))
    found = read_log(folder)
    assert [entry.seq for entry in found.entries] == [1, 2, 4, 5]
    (fault,) = found.faults
    assert (fault.line, fault.counts) == (3, False)
    assert "changed after it was written" in fault.what
    assert '"value": "402"' in fault.text


def test_a_removed_line_breaks_the_chain_and_is_reported(folder: Path) -> None:
    lines = (folder / "log.jsonl").read_bytes().splitlines(keepends=True)
    notices = parse_log(b"".join(lines[:2] + lines[3:]), "log").notices
    assert any("number 4 where 3 was due" in notice for notice in notices)


def test_a_second_process_is_refused_and_told_who_holds_the_job(folder: Path) -> None:
    script = (
        "import sys\n"
        "from pathlib import Path\n"
        "from fieldvoice.devices.joblog import JobLog, JobLogError\n"
        "try: JobLog(Path(sys.argv[1]))\n"
        "except JobLogError as error: print(error)\n"
    )
    with JobLog(folder):
        run = subprocess.run(
            [sys.executable, "-c", script, str(folder)], check=True, capture_output=True, text=True
        )
    assert f"process {os.getpid()}" in run.stdout
    JobLog(folder).close()


@pytest.mark.skipif(sys.platform == "win32", reason="takes the locks of another system away")
@pytest.mark.parametrize("why", [errno.ENOLCK, errno.ENOSYS])
def test_a_disk_without_locks_is_a_clear_error_and_nobody_is_said_to_hold_the_job(
    folder: Path, why: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    import fcntl

    def refuse(fd: int, operation: int) -> None:
        raise OSError(why, os.strerror(why))

    monkeypatch.setattr(fcntl, "flock", refuse)
    with pytest.raises(JobLogError, match=f"cannot write in .*: {os.strerror(why)}; .*another"):
        JobLog(folder)


def test_a_job_is_not_made_over_another(folder: Path) -> None:
    with pytest.raises(JobLogError, match="holds a job"):
        JobLog.create(folder, "other")
    assert len(read_log(folder).entries) == 5


def test_a_folder_that_cannot_be_written_is_a_clear_error(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(JobLogError, match=r"cannot write in .*file/job.*Not a directory"):
        JobLog.create(tmp_path / "file" / "job", "x")


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_without_write_permission_is_a_clear_error(folder: Path) -> None:
    folder.chmod(0o500)
    (folder / "lock").unlink(missing_ok=True)
    with pytest.raises(JobLogError, match="cannot write in"):
        JobLog(folder)


@pytest.mark.skipif(sys.platform == "win32", reason="needs a limit on the size of files")
def test_a_full_disk_leaves_the_log_as_it_was(folder: Path) -> None:
    import resource

    before = (folder / "log.jsonl").read_bytes()
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    with JobLog(folder) as log:
        resource.setrlimit(resource.RLIMIT_FSIZE, (len(before) + 40, limits[1]))
        try:
            with pytest.raises(JobLogError, match="File too large; free space"):
                log.append(Said("lost", "answer"), AT)
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, limits)
        assert (folder / "log.jsonl").read_bytes() == before
        assert log.append(Said("kept", "answer"), AT).seq == 6
    assert read_log(folder).entries[-1].event == Said("kept", "answer")
    assert read_log(folder).notices == ()


def test_a_job_that_is_not_there_is_a_clear_error(tmp_path: Path) -> None:
    with pytest.raises(JobLogError, match="no job log at"):
        read_log(tmp_path)
    with pytest.raises(JobLogError, match="no job at"):
        JobLog(tmp_path / "nowhere")


def test_a_time_without_offset_is_refused(folder: Path) -> None:
    with JobLog(folder) as log, pytest.raises(ValueError, match="offset"):
        log.append(Said("x", "answer"), datetime(2026, 3, 2))


def test_a_clip_is_kept_as_16_khz_mono_and_never_overwritten(folder: Path) -> None:
    pcm = np.arange(-800, 800, dtype=np.int16)
    with JobLog(folder) as log:
        first, second = log.save_clip(pcm.tobytes()), log.save_clip(b"")
    assert (first.path, second.path) == ("clips/000006.wav", "clips/000006-2.wav")
    with wave.open(str(folder / first.path), "rb") as clip:
        assert (clip.getframerate(), clip.getnchannels(), clip.getsampwidth()) == (16_000, 1, 2)
        assert clip.readframes(2_000) == pcm.tobytes()
    kept = (folder / first.path).read_bytes()
    assert (first.sha256, first.bytes) == (hashlib.sha256(kept).hexdigest(), len(kept))


def test_bare_names_lie_in_the_data_folder_and_paths_where_they_say(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert job_folder("unit-12b") == tmp_path / "fieldvoice" / "jobs" / "unit-12b"
    assert job_folder("./here/unit") == Path("here/unit")
    monkeypatch.delenv("XDG_DATA_HOME")
    monkeypatch.setenv("HOME", str(tmp_path))
    assert jobs_folder() == tmp_path / ".local" / "share" / "fieldvoice" / "jobs"


@pytest.mark.parametrize("name", ["", " ", ".", ".."])
def test_a_name_that_names_nothing_is_refused(name: str) -> None:
    with pytest.raises(JobLogError, match="not a name"):
        job_folder(name)


def test_jobs_are_listed_oldest_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert list_jobs() == []
    for age, name in ((3, "b"), (2, "a"), (1, "c")):
        JobLog.create(job_folder(name), "x").close()
        os.utime(job_folder(name) / "log.jsonl", (1_000 - age, 1_000 - age))
    assert [job.name for job in list_jobs()] == ["b", "a", "c"]


def test_a_given_steady_clock_is_written(tmp_path: Path) -> None:
    with JobLog.create(tmp_path / "job", "x", steady=lambda: 42.5) as log:
        log.append(Said("x", "answer"), datetime(2026, 3, 2, tzinfo=UTC))
    assert json.loads((tmp_path / "job" / "log.jsonl").read_text())["mono"] == 42.5


def test_a_turn_is_written_whole_or_not_at_all(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = (folder / "log.jsonl").read_bytes()
    turn = [Entry(6 + n, AT + timedelta(minutes=1), event) for n, event in enumerate(EVENTS)]
    with JobLog(folder) as log:
        write = os.write
        monkeypatch.setattr(os, "write", lambda fd, data: write(fd, data[:100]))  # in pieces
        log.append_all(turn)
        whole = (folder / "log.jsonl").read_bytes()
        assert whole.startswith(before)
        room = [150]

        def full(fd: int, data: bytes) -> int:
            if not room[0]:
                raise OSError(errno.ENOSPC, "No space left on device")
            taken = write(fd, data[: room[0]])
            room[0] -= taken
            return taken

        monkeypatch.setattr(os, "write", full)
        more = [Entry(11 + n, AT + timedelta(minutes=2), event) for n, event in enumerate(EVENTS)]
        with pytest.raises(WriteRefused, match="No space left") as refused:
            log.append_all(more)
        assert refused.value.reason == "the disk is full"
        assert (folder / "log.jsonl").read_bytes() == whole
        monkeypatch.setattr(os, "write", write)
        log.append_all(more)
    assert [entry.seq for entry in read_log(folder).entries] == list(range(1, 16))
    assert read_log(folder).notices == ()


def test_entries_that_do_not_follow_are_refused(folder: Path) -> None:
    with JobLog(folder) as log, pytest.raises(ValueError, match="6 is due"):
        log.append_all([Entry(7, AT, EVENTS[0])])


def test_the_boot_is_written_where_it_changes_and_read_back(tmp_path: Path) -> None:
    folder, steady = tmp_path / "job", [100.0]

    def told() -> list[str | None]:
        lines = (folder / "log.jsonl").read_text().splitlines()
        return [json.loads(line).get("boot", "as before") for line in lines]

    with JobLog.create(folder, "the procedure\n", steady=lambda: steady[0], boot="a") as log:
        assert log.standing is None
        log.append(EVENTS[0], AT)
        log.append(EVENTS[0], AT + timedelta(seconds=1))
    with JobLog(folder, steady=lambda: steady[0], boot="a") as log:
        log.append(EVENTS[0], AT)
    assert told() == ["a", "as before", "as before"]
    with JobLog(folder, steady=lambda: 7.0, boot="b") as log:
        assert log.standing is not None
        assert log.standing.boot == "a"
        log.append(EVENTS[0], AT + timedelta(hours=1))
    with JobLog(folder, steady=lambda: 9.0) as log:
        assert log.standing is not None
        assert (log.standing.boot, log.standing.mono) == ("b", 7.0)
        log.append(EVENTS[0], AT + timedelta(hours=2))
    assert told()[3:] == ["b", None]
    standing = read_log(folder).standing
    assert standing is not None
    assert standing.boot is None


def test_the_line_written_soonest_tells_where_the_steady_clock_began(tmp_path: Path) -> None:
    late = iter([100.050, 101.001, 102.300])
    with JobLog.create(tmp_path / "job", "x\n", steady=lambda: next(late), boot="a") as log:
        for second in range(3):
            log.append(EVENTS[0], AT + timedelta(seconds=second))
    standing = read_log(tmp_path / "job").standing
    assert standing is not None
    assert standing.zero == AT - timedelta(seconds=100.001)
    assert (standing.last, standing.mono) == (AT + timedelta(seconds=2), 102.3)


def test_a_log_of_an_older_fieldvoice_tells_no_boot(folder: Path) -> None:
    standing = read_log(folder).standing
    assert standing is not None
    assert standing.boot is None


def test_a_clip_that_finds_no_room_leaves_no_part_behind(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(fd: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    with JobLog(folder) as log:
        monkeypatch.setattr(os, "fsync", full)
        with pytest.raises(WriteRefused):
            log.save_clip(b"\0\0" * 100)
    assert list((folder / "clips").iterdir()) == []


def test_half_a_character_in_a_name_does_not_keep_a_line_from_being_logged(tmp_path: Path) -> None:
    with JobLog.create(tmp_path / "job", "text") as log:
        log.append(JobStarted("half \udcc3", "small", "0" * 64, "0"), datetime.now(UTC))
    (entry,) = read_log(tmp_path / "job").entries
    assert isinstance(entry.event, JobStarted)
    assert entry.event.job == "half ?"


def test_a_job_is_nobody_elses_business(tmp_path: Path) -> None:
    JobLog.create(tmp_path / "job", "text").close()
    for folder in (tmp_path / "job", tmp_path / "job" / "clips"):
        assert folder.stat().st_mode & 0o077 == 0
