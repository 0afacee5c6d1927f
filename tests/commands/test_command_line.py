"""The command line: what is printed, where, and with which exit code."""

import hashlib
import io
import json
import os
import re
import subprocess
import sys
from datetime import UTC, datetime
from decimal import Decimal
from importlib import resources
from pathlib import Path
from urllib.parse import urljoin, urlparse
from urllib.request import url2pathname

import pytest

from fieldvoice.__main__ import main
from fieldvoice.commands import COMMANDS
from fieldvoice.commands.say_what import TYPED, sayings
from fieldvoice.devices.joblog import JobLog, job_folder, read_log, read_procedure, register_path
from fieldvoice.jobstate.events import JobFinished, JobResumed, JobStarted, LineHeard, ReadingTaken
from fieldvoice.language.intents import NotUnderstood
from fieldvoice.language.parser import understand
from support.small_procedure import TEXT, TIGHT_JOB

Capture = pytest.CaptureFixture[str]
Patch = pytest.MonkeyPatch

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
PRACTICE = "".join(f"+{seconds}s\n{words}\n" for seconds, words in TIGHT_JOB)


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: Patch) -> Path:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    (tmp_path / "small.procedure").write_text(TEXT, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def typed(monkeypatch: Patch, lines: str, *arguments: str) -> int:
    monkeypatch.setattr("sys.stdin", io.StringIO(lines))
    return main(["work", "small.procedure", *arguments])


def json_lines(text: str) -> list[dict[str, object]]:
    return [json.loads(line) for line in text.splitlines()]


# --- help and usage -----------------------------------------------------------------------------


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help_with_an_example(command: str, capsys: Capture) -> None:
    assert main([command, "--help"]) == 0
    assert f"fieldvoice {command}" in capsys.readouterr().out.partition("\n\n")[2]


def test_help_names_every_command(capsys: Capture) -> None:
    assert main(["--help"]) == 0
    told = capsys.readouterr().out
    assert all(command in told for command in COMMANDS)


@pytest.mark.parametrize("arguments", [[], ["nonsense"], ["hear"], ["parse"], ["work"], ["report"]])
def test_wrong_usage_exits_2_and_says_so_on_stderr(arguments: list[str], capsys: Capture) -> None:
    assert main(arguments) == 2
    told = capsys.readouterr()
    assert (told.out, "usage" in told.err) == ("", True)


def test_the_module_runs_as_a_program(home: Path) -> None:
    run = subprocess.run(
        [sys.executable, "-m", "fieldvoice", "parse", "next", "--json"],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert json.loads(run.stdout) == {"intent": "next"}


# --- parse --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "quantity", "value", "unit"),
    [
        ("four hundred and twelve microns", "vacuum", "412", "microns"),
        ("412 um", "vacuum", "412", "microns"),
        ("vacuum four twelve", "vacuum", "412", "microns"),
        ("1.2 torr", "vacuum", "1.2", "torr"),
        ("suction one eighteen", "suction-pressure", "118", "psig"),
        ("suction temperature fifty two point five", "suction-temperature", "52.5", "degF"),
        ("412", None, "412", None),
    ],
)
def test_parse_gives_a_reading_as_json(
    text: str, quantity: str | None, value: str, unit: str | None, capsys: Capture
) -> None:
    assert main(["parse", text, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found == {"intent": "reading", "quantity": quantity, "value": value, "unit": unit}
    assert Decimal(found["value"]) == Decimal(value)


def test_parse_fills_in_what_the_step_expects(capsys: Capture) -> None:
    assert main(["parse", "412", "--json", "--expect", "vacuum"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["quantity"], found["unit"]) == ("vacuum", "microns")


@pytest.mark.parametrize("text", ["banana", "four hundred to five hundred microns", ""])
def test_a_refusal_is_an_answer_with_a_reason(text: str, capsys: Capture) -> None:
    assert main(["parse", text, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["intent"] == "not-understood"
    assert found["reason"]


def test_a_reading_that_cannot_be_carries_the_reason(capsys: Capture) -> None:
    assert main(["parse", "vacuum thirty degrees", "--json"]) == 0
    assert "pressure" in json.loads(capsys.readouterr().out)["reason"]


def test_an_unknown_expected_quantity_is_refused(capsys: Capture) -> None:
    assert main(["parse", "412", "--expect", "mood"]) == 2
    assert "--expect mood" in capsys.readouterr().err


@pytest.mark.parametrize("line", [line for lines in sayings().values() for line in lines])
def test_everything_that_say_what_shows_is_understood(line: str) -> None:
    assert not isinstance(understand(line, typed=line in TYPED), NotUnderstood)


def test_say_what_prints_one_json_object_a_line(capsys: Capture) -> None:
    assert main(["say-what", "--json"]) == 0
    assert len(json_lines(capsys.readouterr().out)) == sum(map(len, sayings().values()))


# --- procedure ----------------------------------------------------------------------------------


def test_a_good_procedure_passes_the_check(capsys: Capture) -> None:
    assert main(["procedure", "check", "small.procedure"]) == 0
    assert "good" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("old", "new", "where"),
    [
        ("read vacuum", "read vacum", "line 10"),
        ('say "Release', "say Release", "line 22, column 7"),
        ("go to pull\nstep release", "go to nowhere\nstep release", "line 20"),
    ],
)
def test_a_broken_procedure_is_refused_with_line_and_column(
    home: Path, old: str, new: str, where: str, capsys: Capture
) -> None:
    assert old in TEXT
    (home / "bad.procedure").write_text(TEXT.replace(old, new), encoding="utf-8")
    assert main(["procedure", "check", "bad.procedure"]) == 2
    assert f"bad.procedure: {where}" in capsys.readouterr().out
    assert main(["work", "bad.procedure", "--job", "x", "--typed"]) == 2
    assert f"bad.procedure: {where}" in capsys.readouterr().err
    assert not job_folder("x").exists()


def test_show_prints_the_text_the_sheet_or_a_drawing(home: Path, capsys: Capture) -> None:
    assert main(["procedure", "show", "small.procedure"]) == 0
    assert "\n  1. " in capsys.readouterr().out
    assert main(["procedure", "show", "small.procedure", "--text"]) == 0
    assert capsys.readouterr().out == TEXT
    assert main(["procedure", "show", "small.procedure", "--drawing", "small.svg"]) == 0
    assert capsys.readouterr().out == ""
    assert (home / "small.svg").read_text(encoding="utf-8").startswith("<svg")
    assert main(["procedure", "show", "small.procedure", "--drawing", "no/small.svg"]) == 2
    assert "cannot write no" in capsys.readouterr().err


@pytest.mark.parametrize("command", [["work"], ["procedure", "show"], ["procedure", "check"]])
def test_an_unknown_procedure_is_refused(command: list[str], capsys: Capture) -> None:
    assert main([*command, "no-such-thing"]) == 2
    assert "no-such-thing" in capsys.readouterr().err


# --- work ---------------------------------------------------------------------------------------


def test_piped_lines_are_worked_answered_and_logged(monkeypatch: Patch, capsys: Capture) -> None:
    assert typed(monkeypatch, "understood\nvacuum 410 microns\n", "--job", "a") == 0
    told = capsys.readouterr().out
    assert "410 microns" in told
    assert "\x1b" not in told
    events = [entry.event for entry in read_log(job_folder("a")).entries]
    assert [e.source for e in events if isinstance(e, LineHeard)] == ["typed", "typed"]
    assert [e.value for e in events if isinstance(e, ReadingTaken)] == ["410"]


def test_a_job_is_worked_to_its_end_in_practice_time(monkeypatch: Patch, capsys: Capture) -> None:
    assert typed(monkeypatch, PRACTICE, "--job", "a", "--practice") == 0
    assert "tight" in capsys.readouterr().out
    assert read_log(job_folder("a")).entries[-2].event == JobFinished("released")


def test_a_job_that_exists_is_gone_on_with(monkeypatch: Patch, capsys: Capture) -> None:
    assert typed(monkeypatch, "understood\n", "--job", "a") == 0
    before = read_log(job_folder("a")).entries
    assert typed(monkeypatch, "410 microns\n", "--job", "a") == 0
    after = read_log(job_folder("a"))
    assert after.entries[: len(before)] == before
    assert isinstance(after.entries[len(before)].event, JobResumed)
    assert after.notices == ()
    assert "Go on with: fieldvoice work" in capsys.readouterr().out


def test_a_job_goes_on_with_the_procedure_it_began_with(
    home: Path, monkeypatch: Patch, capsys: Capture
) -> None:
    assert typed(monkeypatch, "understood\n", "--job", "a") == 0
    changed = TEXT.replace("= 500 microns", "= 300 microns")
    (home / "small.procedure").write_text(changed, encoding="utf-8")
    assert typed(monkeypatch, "410 microns\n", "--job", "a") == 0
    assert "the procedure that it was started with" in capsys.readouterr().out
    events = [entry.event for entry in read_log(job_folder("a")).entries]
    assert [e.within for e in events if isinstance(e, ReadingTaken)] == [True]


def test_a_job_keeps_what_its_procedure_includes(
    home: Path, monkeypatch: Patch, capsys: Capture
) -> None:
    text = 'procedure small "Small"\nstage s "S"\nstep a\n  say "Begin."\ninclude nitrogen-test\n'
    (home / "small.procedure").write_text(text, encoding="utf-8")
    for _ in range(2):
        assert typed(monkeypatch, "", "--job", "a") == 0
    assert "was started with" not in capsys.readouterr().out
    kept = read_procedure(job_folder("a"))
    assert "include" not in kept
    started = read_log(job_folder("a")).entries[0].event
    assert isinstance(started, JobStarted)
    assert started.procedure_sha256 == hashlib.sha256(kept.encode()).hexdigest()


def test_a_finished_job_is_not_worked_on(monkeypatch: Patch, capsys: Capture) -> None:
    assert typed(monkeypatch, PRACTICE, "--job", "a", "--practice") == 0
    assert typed(monkeypatch, "next\n", "--job", "a") == 2
    assert "is finished" in capsys.readouterr().err


def test_a_job_in_use_is_refused_and_nothing_is_lost(monkeypatch: Patch, capsys: Capture) -> None:
    assert typed(monkeypatch, "understood\n", "--job", "a") == 0
    before = (job_folder("a") / "log.jsonl").read_bytes()
    with JobLog(job_folder("a")):
        assert typed(monkeypatch, "410 microns\n", "--job", "a") == 2
    assert f"process {os.getpid()}" in capsys.readouterr().err
    assert (job_folder("a") / "log.jsonl").read_bytes() == before


def test_a_torn_log_is_reported_and_worked_past(monkeypatch: Patch, capsys: Capture) -> None:
    assert typed(monkeypatch, "understood\n410 microns\n", "--job", "a") == 0
    path = job_folder("a") / "log.jsonl"
    path.write_bytes(path.read_bytes()[:-9])
    (job_folder("a") / "seal.json").unlink()  # as if it had been killed before it sealed anything
    register_path().unlink()
    kept = len(read_log(job_folder("a")).entries)
    capsys.readouterr()
    assert typed(monkeypatch, "what now\n", "--job", "a") == 0
    assert "cut short" in capsys.readouterr().out
    assert len(read_log(job_folder("a")).entries) > kept


def test_a_log_broken_in_the_middle_is_refused_with_its_line(
    monkeypatch: Patch, capsys: Capture
) -> None:
    assert typed(monkeypatch, "understood\n", "--job", "a") == 0
    path = job_folder("a") / "log.jsonl"
    lines = path.read_bytes().split(b"\n")
    path.write_bytes(b"\n".join([lines[0], b"{", *lines[2:]]))
    assert typed(monkeypatch, "what now\n", "--job", "a") == 2
    assert "log.jsonl, line 2" in capsys.readouterr().err


def test_a_folder_that_cannot_be_written_is_refused(
    home: Path, monkeypatch: Patch, capsys: Capture
) -> None:
    (home / "file").write_text("in the way")
    assert typed(monkeypatch, "next\n", "--job", str(home / "file" / "job")) == 2
    assert "cannot write in" in capsys.readouterr().err


def test_a_fact_about_the_site_needs_a_value(monkeypatch: Patch, capsys: Capture) -> None:
    assert typed(monkeypatch, "", "--job", "a", "--site", "altitude") == 2
    assert "--site altitude" in capsys.readouterr().err


def test_a_bad_fact_about_the_site_is_refused(monkeypatch: Patch, capsys: Capture) -> None:
    assert typed(monkeypatch, "", "--job", "a", "--site", "altitude=up") == 2
    assert "up" in capsys.readouterr().err


def test_time_that_is_none_is_told_and_work_goes_on(monkeypatch: Patch, capsys: Capture) -> None:
    assert typed(monkeypatch, "+soon\nunderstood\n", "--job", "a", "--practice") == 0
    told = capsys.readouterr().out
    assert "is no span of time" in told
    assert "heard understood" in told


def test_every_line_of_a_log_fits_the_published_schema(monkeypatch: Patch) -> None:
    jsonschema = pytest.importorskip("jsonschema", reason="checks the log against its schema")
    schema = json.loads(
        resources.files("fieldvoice.review").joinpath("joblog.schema.json").read_text("utf-8")
    )
    lines = PRACTICE.replace(
        "next\n", "note: valve was stiff\ntake that back\nlouder\nskip\nnext\n"
    )
    assert typed(monkeypatch, lines, "--job", "a", "--practice") == 0
    check = jsonschema.Draft202012Validator(schema)
    for line in (job_folder("a") / "log.jsonl").read_text("utf-8").splitlines():
        assert [error.message for error in check.iter_errors(json.loads(line))] == []


# --- jobs and report ----------------------------------------------------------------------------


def test_jobs_lists_what_there_is(monkeypatch: Patch, capsys: Capture) -> None:
    assert main(["jobs"]) == 0
    assert "no jobs" in capsys.readouterr().err
    assert typed(monkeypatch, PRACTICE, "--job", "a", "--practice") == 0
    assert typed(monkeypatch, "understood\n", "--job", "b") == 0
    capsys.readouterr()
    assert main(["jobs", "--json"]) == 0
    told = json_lines(capsys.readouterr().out)
    assert {(j["job"], j["state"]) for j in told} == {
        ("a", "finished: released"), ("b", "open at pull"),
    }  # fmt: skip


def test_a_report_is_one_file_without_outside_parts_and_a_csv(
    home: Path, monkeypatch: Patch, capsys: Capture
) -> None:
    assert typed(monkeypatch, PRACTICE, "--job", "a", "--practice") == 0
    capsys.readouterr()
    assert main(["report", "a", "--into", "out"]) == 0
    report, csv = map(Path, capsys.readouterr().out.split())
    html = report.read_text(encoding="utf-8")
    assert "<svg" in html
    assert 'src="http' not in html
    assert "412" in html
    assert len(csv.read_text(encoding="utf-8").splitlines()) > 7


def test_a_report_finds_the_clips_wherever_it_is_written(
    home: Path, monkeypatch: Patch, capsys: Capture
) -> None:
    assert typed(monkeypatch, "understood\n", "--job", "a") == 0
    with JobLog(job_folder("a")) as log:
        clip = log.save_clip(b"\0\0" * 160)
        log.append(LineHeard("next", "voice", {"intent": "next"}, 0.9, clip.path), NOON)
    for options, base in ((["--into", "out"], home / "out"), ([], job_folder("a"))):
        capsys.readouterr()
        assert main(["report", "a", "--for", "inspector", "--link-sound", *options]) == 0
        report = Path(capsys.readouterr().out.split()[0])
        (link,) = re.findall(r'data-sound="([^"]*\.wav)"', report.read_text(encoding="utf-8"))
        found = urlparse(urljoin(f"{base.resolve().as_uri()}/", link))
        assert Path(url2pathname(found.path)).is_file()


@pytest.mark.parametrize(
    ("file", "old", "new", "why"),
    [
        ("log.jsonl", "", "", "intact"),
        ("log.jsonl", '"410"', '"310"', "was changed after it was written"),
        ("procedure.txt", "= 500 microns", "= 900 microns", "that the job began with"),
    ],
)
def test_a_report_says_whether_the_record_is_as_it_was_written(
    file: str, old: str, new: str, why: str, monkeypatch: Patch, capsys: Capture
) -> None:
    assert typed(monkeypatch, "understood\nvacuum 410 microns\n", "--job", "a") == 0
    path = job_folder("a") / file
    assert old in path.read_text(encoding="utf-8")
    path.write_text(path.read_text(encoding="utf-8").replace(old, new, 1), encoding="utf-8")
    assert main(["report", "a"]) == (0 if why == "intact" else 1)
    html = (job_folder("a") / "report.html").read_text(encoding="utf-8")
    assert why in html
    assert ("intact:" in html) == (why == "intact")


def test_a_report_of_no_job_is_refused(capsys: Capture) -> None:
    assert main(["report", "nothing"]) == 2
    assert "no job log at" in capsys.readouterr().err


# --- bad sound and bad models -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("missing", "why"), [(None, "no speech model at"), ("am", "is not a speech model")]
)
def test_a_wrong_model_folder_is_refused(
    home: Path, missing: str | None, why: str, capsys: Capture
) -> None:
    if missing:
        (home / "model" / missing).mkdir(parents=True)
    assert main(["hear", "x.wav", "--model", "model"]) == 2
    assert why in capsys.readouterr().err
