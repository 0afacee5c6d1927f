"""`fieldvoice jobs`: how each job stands, in words and as JSON."""

import json
import os
import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from fieldvoice.__main__ import main
from fieldvoice.devices.joblog import JobLog, JobLogError, job_folder
from fieldvoice.jobstate.events import Entry, JobResumed, JobStarted, StepOpened, TimerStarted
from fieldvoice.review.job_standing import ago_words, in_words, job_standing
from support.small_procedure import TEXT, TIGHT_JOB

Capture = pytest.CaptureFixture[str]
Typed = Callable[..., int]
TO_THE_END = "".join(f"+{seconds}s\n{words}\n" for seconds, words in TIGHT_JOB)
NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)


def listed(capsys: Capture, *arguments: str) -> dict[str, dict[str, Any]]:
    capsys.readouterr()
    assert main(["jobs", "--json", *arguments]) == 0
    found = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    return {job["job"]: job for job in found}


def test_each_job_is_listed_as_it_stands(typed: Typed, capsys: Capture) -> None:
    typed("open", "understood\n")
    typed("away", "understood\nstand by\n")
    typed("done", TO_THE_END, "--practice")
    JobLog.create(job_folder("new"), TEXT).close()
    typed("torn", "understood\n")
    path = job_folder("torn") / "log.jsonl"
    path.write_bytes(path.read_bytes()[:-9])
    typed("changed", "understood\n")
    path = job_folder("changed") / "log.jsonl"
    path.write_bytes(path.read_bytes().replace(b'"understood"', b'"understand"', 1))
    typed("rubbish", "understood\n")
    (job_folder("rubbish") / "log.jsonl").write_bytes(b"{}\n{}\n")
    found = listed(capsys)
    assert {name: (job["standing"], job["state"], job["mode"]) for name, job in found.items()} == {
        "open": ("paused", "open at pull", "work"),
        "away": ("standing-by", "open at pull", "work"),
        "done": ("finished", "finished: released", "practice"),
        "new": ("not-begun", "not begun", "work"),
        "torn": ("damaged", "open at pull", "work"),
        "changed": ("damaged", "open at pull", "work"),
        "rubbish": ("damaged", "damaged", ""),
    }
    assert all(found[name]["damage"] for name in ("torn", "changed", "rubbish"))
    assert found["open"]["open"]["unit one"]["step"] == "pull"


def test_a_job_open_in_another_process_is_named_with_it(typed: Typed, capsys: Capture) -> None:
    typed("a", "understood\n")
    with JobLog(job_folder("a")):
        assert listed(capsys)["a"]["process"] == str(os.getpid())
        assert listed(capsys)["a"]["standing"] == "at-work"
        main(["jobs"])
        assert f"at work in process {os.getpid()}" in capsys.readouterr().out
    assert listed(capsys)["a"]["standing"] == "paused"


def test_listing_does_not_keep_anybody_from_opening_a_job(typed: Typed) -> None:
    typed("a", "understood\n")
    lists = subprocess.Popen(
        [sys.executable, "-c", "import sys\nfrom pathlib import Path\n"
         "from fieldvoice.devices.joblog import held_by\n"
         "while True: held_by(Path(sys.argv[1]))", str(job_folder("a"))])
    try:
        for _ in range(100):
            JobLog(job_folder("a")).close()
    finally:
        lists.kill()
        lists.wait()


def test_the_last_one_worked_on_stands_at_the_end(typed: Typed, capsys: Capture) -> None:
    for job in ("b", "a", "c"):
        typed(job, "")
    typed("b", "what now\n")
    os.utime(job_folder("c") / "log.jsonl")  # touched, as by a copy; not worked on
    assert list(listed(capsys)) == ["a", "c", "b"]


def test_only_those_asked_for_are_listed(typed: Typed, capsys: Capture) -> None:
    typed("open", "")
    typed("practised", "", "--practice")
    typed("done", TO_THE_END, "--practice")
    wanted = {"open": {"open", "practised"}, "finished": {"done"}, "real": {"open"},
              "simulated": {"practised", "done"}, "damaged": set()}
    assert {only: set(listed(capsys, "--only", only)) for only in wanted} == wanted


def test_practice_is_marked_in_the_list(typed: Typed, capsys: Capture) -> None:
    typed("p", "", "--practice")
    typed("w", "")
    capsys.readouterr()
    main(["jobs"])
    lines = {line.split()[0]: line for line in capsys.readouterr().out.splitlines()}
    assert "PRACTICE" in lines["p"]
    assert "PRACTICE" not in lines["w"]


def _entries(mode: str = "work") -> list[Entry]:
    events = [JobStarted("a", "small", "0" * 64, "0", mode=mode), StepOpened("s", "hold-it"),
              TimerStarted("hold", 600.0, (NOON + timedelta(minutes=10)).isoformat(), True)]
    return [Entry(seq, NOON, event) for seq, event in enumerate(events, start=1)]


@pytest.mark.parametrize(
    ("mode", "later", "words"),
    [
        ("work", timedelta(minutes=4), "hold 6 minutes left"),
        ("work", timedelta(minutes=40), "hold ran out 30 minutes ago"),
        ("work", timedelta(days=3), "hold ran out 2 days ago"),
        ("practice", timedelta(minutes=40), "hold 10 minutes left"),  # time stands still there
        ("recording", timedelta(days=3), "hold 10 minutes left when last heard"),
    ],
)
def test_what_runs_is_told_with_what_is_left_or_since_when_it_ran_out(
    mode: str, later: timedelta, words: str
) -> None:
    found = job_standing(_entries(mode), NOON + later)
    since = "12:00" if later < timedelta(days=1) else "2026-03-02 12:00"
    assert in_words(found, NOON + later) == f"open at hold it since {since}, {words}"


def test_work_behind_a_recording_has_todays_clock_again() -> None:
    entries = [*_entries("recording"), Entry(4, NOON + timedelta(minutes=5), JobResumed("0"))]
    later = NOON + timedelta(minutes=7)
    assert in_words(job_standing(entries, later), later).endswith("hold 3 minutes left")


@pytest.mark.parametrize(
    ("ago", "words"),
    [
        (timedelta(seconds=20), "just now"), (timedelta(minutes=1), "1 minute ago"),
        (timedelta(hours=3.9), "3 hours ago"), (timedelta(days=2.5), "2 days ago"),
        (timedelta(hours=-2), "at a time still to come"),
    ],
)
def test_how_long_ago(ago: timedelta, words: str) -> None:
    assert ago_words(NOON, NOON + ago) == words


# --- two jobs never mix -------------------------------------------------------------------------


def test_a_folder_moved_away_while_it_is_open_takes_no_more_lines(typed: Typed) -> None:
    typed("a", "understood\n")
    with JobLog(job_folder("a")) as log:
        job_folder("a").rename(job_folder("b"))
        before = (job_folder("b") / "log.jsonl").read_bytes()
        with pytest.raises(JobLogError, match="its folder was moved, replaced or removed"):
            log.append(StepOpened("s", "x"), NOON)
        typed("a", "")  # another job in its place
        with pytest.raises(JobLogError, match="its folder was moved"):
            log.append(StepOpened("s", "x"), NOON)
    assert (job_folder("b") / "log.jsonl").read_bytes() == before


def test_a_copy_of_a_job_says_that_it_began_under_another_name(
    typed: Typed, capsys: Capture
) -> None:
    typed("a", "understood\n")
    subprocess.run(["cp", "-r", str(job_folder("a")), str(job_folder("b"))], check=True)
    capsys.readouterr()
    assert typed("b", "what now\n") == 0
    assert "began as job a: this folder is a copy of it, or was renamed" in capsys.readouterr().out
    typed("a", "what now\n")
    assert "is a copy" not in capsys.readouterr().out


def test_two_jobs_at_once_keep_apart(typed: Typed, tmp_path: Path) -> None:
    environment = {**os.environ, "XDG_DATA_HOME": str(tmp_path / "data")}
    both = [subprocess.Popen(
        [sys.executable, "-m", "fieldvoice", "work", "small.procedure", "--typed", "--job", job],
        stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, text=True, bufsize=1, env=environment)
        for job in ("a", "b")]  # fmt: skip
    for number in range(3):
        for name, process in zip("ab", both, strict=True):
            assert process.stdin is not None
            process.stdin.write(f"note: {name} {number}\n")
    for process in both:
        process.communicate()
        assert process.returncode == 0
    for name, other in ("ab", "ba"):
        text = (job_folder(name) / "log.jsonl").read_text("utf-8")
        assert f"note: {name} 2" in text
        assert f"note: {other}" not in text


SEARCHES = [
    (["roof"], {"roof"}), (["ROOF", "lee"], {"roof"}), (["pump down"], {"roof", "yard"}),
    (["nowhere"], set()), (["--verdict", "tight"], {"roof"}), (["--verdict", "leaking"], set()),
    (["--since", "2200-01-01"], set()), (["--since", "2020-01-01"], {"roof", "yard"}),
    (["--until", "2020-01-01"], set()), (["sam", "--only", "simulated"], {"yard"}),
]  # fmt: skip


def test_jobs_are_found_by_words_days_and_verdicts(typed: Typed, capsys: Capture) -> None:
    typed("roof", TO_THE_END, "--practice", "--site", "place=roof, east end",
          "--site", "technician=Ann Lee")
    typed("yard", "understood\nplace = yard\ntechnician = Sam Poe\n", "--practice")
    for arguments, jobs in SEARCHES:
        assert set(listed(capsys, *arguments)) == jobs, arguments
    assert listed(capsys)["yard"]["place"] == "yard"
    assert main(["jobs", "--since", "soon"]) == 2
    assert "no day" in capsys.readouterr().err


def last_turn_cut(raw: bytes) -> bytes:
    lines = raw.splitlines(keepends=True)
    return b"".join(lines[: json.loads(lines[-1])["turn"] - 1])


def test_a_log_cut_at_the_end_of_a_turn_is_damaged_where_its_seal_says_more(
    typed: Typed, capsys: Capture
) -> None:
    typed("whole", "understood\n410 microns\n")
    typed("cut", "understood\n410 microns\n")
    log = job_folder("cut") / "log.jsonl"
    log.write_bytes(last_turn_cut(log.read_bytes()))
    found = listed(capsys)
    assert (found["whole"]["standing"], found["whole"]["damage"]) == ("paused", [])
    assert found["cut"]["standing"] == "damaged"
    assert "are missing" in found["cut"]["damage"][0]
    assert set(listed(capsys, "--only", "damaged")) == {"cut"}


def _piped(path: Path) -> None:
    path.unlink()
    os.mkfifo(path)


def _looped(path: Path) -> None:
    path.unlink()
    path.symlink_to(path)


def _a_folder(path: Path) -> None:
    path.unlink()
    path.mkdir()


@pytest.mark.parametrize("name", ["log.jsonl", "seal.json", "lock"])
@pytest.mark.parametrize("deed", [_piped, _looped, _a_folder])
def test_whatever_lies_in_a_job_the_list_is_made(
    typed: Typed, capsys: Capture, name: str, deed: Callable[[Path], None]
) -> None:
    typed("right", "understood\n")
    typed("strange", "understood\n")
    deed(job_folder("strange") / name)
    found = listed(capsys)
    assert found["right"]["standing"] == "paused"
    assert "strange" in found
    if name == "log.jsonl":
        assert found["strange"]["standing"] == "damaged"


def test_a_job_that_fails_in_a_way_nobody_thought_of_holds_up_no_other(
    typed: Typed, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    typed("right", "understood\n")
    typed("strange", "understood\n")

    def failing(folder: Path) -> str | None:
        if folder.name == "strange":
            raise LookupError("this")
        return None

    monkeypatch.setattr("fieldvoice.devices.joblog.held_by", failing)
    found = listed(capsys)
    assert found["strange"]["damage"] == ["LookupError: this"]
    assert found["right"]["standing"] == "paused"


def test_a_review_is_no_work_on_the_job(
    typed: Typed, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    typed("a", "understood\n", "--site", "place=yard")
    typed("b", "understood\n")
    before = listed(capsys)
    assert main(["amend", "a", "place", "roof", "--by", "Ann Lee", "--why", "wrong house"]) == 0
    after = listed(capsys)
    assert after["a"]["place"] == "roof"
    assert after["a"]["last_worked_on"] == before["a"]["last_worked_on"]
    assert list(after) == list(before) == ["a", "b"]
    monkeypatch.setattr("fieldvoice.devices.joblog.skim", lambda *_: None)  # read whole
    assert listed(capsys)["a"]["last_worked_on"] == before["a"]["last_worked_on"]
