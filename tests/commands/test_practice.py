"""Practice and replays are marked wherever a job shows, and never mix with real work."""

import io
import shlex
from collections.abc import Callable
from pathlib import Path

import pytest

from fieldvoice.__main__ import main
from fieldvoice.commands.wiring.earlier_jobs import look_up
from fieldvoice.commands.wiring.screen_state import screen_state
from fieldvoice.devices.joblog import job_folder, read_log
from fieldvoice.jobstate.earlier_job import NoSuchJob
from fieldvoice.jobstate.events import PRACTICE, WORK, JobStarted
from fieldvoice.jobstate.job import Job, fold_job
from fieldvoice.jobstate.state import JobState
from fieldvoice.procedure.reader import parse
from support.small_procedure import TEXT, TIGHT_JOB

Capture = pytest.CaptureFixture[str]
Typed = Callable[..., int]
TO_THE_END = "".join(f"+{seconds}s\n{words}\n" for seconds, words in TIGHT_JOB)


@pytest.fixture
def typed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Typed:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.chdir(tmp_path)
    (tmp_path / "small.procedure").write_text(TEXT, encoding="utf-8")

    def work(lines: str, *arguments: str) -> int:
        monkeypatch.setattr("sys.stdin", io.StringIO(lines))
        return main(["work", "small.procedure", *arguments])

    return work


def begun(job: str) -> JobStarted:
    event = read_log(job_folder(job)).entries[0].event
    assert isinstance(event, JobStarted)
    return event


def test_the_log_says_whether_it_was_practice(typed: Typed) -> None:
    typed("understood\n", "--job", "p", "--practice")
    typed("understood\n", "--job", "w")
    assert (begun("p").mode, begun("w").mode) == (PRACTICE, WORK)


def test_practice_says_so_when_it_begins_and_goes_on(typed: Typed, capsys: Capture) -> None:
    for _ in range(2):
        typed("", "--job", "p", "--practice")
    told = capsys.readouterr().out
    assert "This is practice, in simulated time." in told
    assert "Practice job p goes on." in told


@pytest.mark.parametrize("options", [["--practice"], []])
def test_what_it_says_to_type_goes_on_with_the_job(
    typed: Typed, capsys: Capture, options: list[str]
) -> None:
    typed("understood\n", "--job", "my unit", *options)
    told = capsys.readouterr().out.split("Go on with: fieldvoice ")[1]
    assert main(shlex.split(told)) == 0
    assert "ob my unit goes on." in capsys.readouterr().out


@pytest.mark.parametrize(
    ("begun_with", "gone_on_with", "why"),
    [
        (["--practice"], [], "stays practice; go on with --practice, or name another --job"),
        ([], ["--practice"], "is a real one; leave --practice away"),
        (["--practice"], ["--reopen"], "stays practice"),
    ],
)
def test_practice_and_work_never_mix(
    begun_with: list[str], gone_on_with: list[str], why: str, typed: Typed, capsys: Capture
) -> None:
    typed("understood\n", "--job", "a", *begun_with)
    before = (job_folder("a") / "log.jsonl").read_bytes()
    assert typed("410 microns\n", "--job", "a", *gone_on_with) == 2
    assert why in capsys.readouterr().err
    assert (job_folder("a") / "log.jsonl").read_bytes() == before


def test_a_finished_practice_is_not_reopened_as_work(typed: Typed, capsys: Capture) -> None:
    typed(TO_THE_END, "--job", "a", "--practice")
    assert typed("", "--job", "a", "--reopen", "forgot a note") == 2
    assert "stays practice" in capsys.readouterr().err


def test_a_practised_test_is_no_evidence_for_real_work(typed: Typed) -> None:
    typed(TO_THE_END, "--job", "a", "--practice")
    with pytest.raises(NoSuchJob, match="simulated time: nothing was measured"):
        look_up("a")
    assert look_up("a", PRACTICE).results["decay"].verdict == "tight"  # for practice it serves


def test_the_report_and_its_csv_are_marked(typed: Typed, capsys: Capture) -> None:
    for job, options, marked in (("p", ["--practice"], True), ("w", [], False)):
        typed("understood\n410 microns\n", "--job", job, *options)
        main(["report", job])
        page = (job_folder(job) / "report.html").read_text("utf-8")
        assert ("PRACTICE in simulated time" in page) == marked
        assert (">Job record for the office<" in page) != marked
        header, row = (job_folder(job) / "readings.csv").read_text("utf-8").splitlines()
        assert dict(zip(header.split(","), row.split(","), strict=True))["mode"] == begun(job).mode


def test_the_screen_knows_that_it_is_practice(typed: Typed) -> None:
    for job, options in (("p", ["--practice"]), ("w", [])):
        typed("understood\n", "--job", job, *options)
        entries = read_log(job_folder(job)).entries
        folded = fold_job(Job.of(JobState.empty(parse(TEXT))), entries)
        assert screen_state(folded, entries[-1].at).practice == bool(options)


def test_a_unit_begun_in_practice_is_practice(typed: Typed) -> None:
    typed("new unit two\n", "--job", "p", "--practice")
    modes = [entry.event.mode for entry in read_log(job_folder("p")).entries
             if isinstance(entry.event, JobStarted)]
    assert modes == [PRACTICE, PRACTICE]


def test_a_log_from_before_practice_was_marked_is_still_read() -> None:
    old = JobStarted.from_dict("job-started", {
        "job": "a", "procedure": "small", "procedure_sha256": "0" * 64, "fieldvoice": "0"})
    assert isinstance(old, JobStarted)
    assert old.mode == WORK
