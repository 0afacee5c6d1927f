"""Several units by the real command: one log, one screen, one report, and nothing mixed up."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from fieldvoice.__main__ import main
from fieldvoice.commands.wiring.recorded_jobs import read_job
from fieldvoice.commands.wiring.replay import Replay
from fieldvoice.commands.wiring.screen_state import screen_state
from fieldvoice.devices.joblog import job_folder, read_log, read_procedures
from fieldvoice.jobstate.events import JobStarted, ReadingTaken, VerdictGiven
from fieldvoice.jobstate.job import unit_of
from fieldvoice.review.schema import log_line_schema
from support.job_bench import JobBench
from support.small_procedure import TEXT
from support.terminal import Shown

Capture = pytest.CaptureFixture[str]
Patch = pytest.MonkeyPatch
OTHER = TEXT.replace("procedure pump-down", "procedure pump-again", 1)
MORNING = """\
understood
vacuum 400 microns
new unit two
understood
vacuum 410 microns
new unit three
understood
vacuum 420 microns
start the hold
421
unit two start the hold
unit two 412
unit one start the hold
unit one 401
+1min
unit three 422
unit two 460
unit one 402
+2min
unit 2
540
unit one 403
unit three 424
+3min
unit three 425
unit two 650
unit one 404
+5min
unit three 426
unit two 835
unit one 405
"""


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: Patch) -> Path:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.chdir(tmp_path)
    (tmp_path / "small.procedure").write_text(TEXT, encoding="utf-8")
    (tmp_path / "other-way.procedure").write_text(OTHER, encoding="utf-8")
    return tmp_path


def work(monkeypatch: Patch, lines: str, *more: str, procedure: str = "small.procedure") -> int:
    monkeypatch.setattr("sys.stdin", io.StringIO(lines))
    return main(["work", procedure, "--practice", "--job", "a", *more])


def of_units(kind: type) -> list[tuple[str, str]]:
    field = "verdict" if kind is VerdictGiven else "value"
    return [(unit_of(entry), getattr(entry.event, field))
            for entry in read_log(job_folder("a")).entries if isinstance(entry.event, kind)]


def test_three_standing_tests_in_one_morning(monkeypatch: Patch, capsys: Capture) -> None:
    assert work(monkeypatch, MORNING) == 0
    said = capsys.readouterr().out
    assert sorted(of_units(VerdictGiven)) == [
        ("unit one", "tight"), ("unit three", "tight"), ("unit two", "leaking")]
    readings = of_units(ReadingTaken)
    assert [value for unit, value in readings if unit == "unit two"] == [
        "410", "412", "460", "540", "650", "835"]
    assert [value for unit, value in readings if unit == "unit one"] == [
        "400", "401", "402", "403", "404", "405"]
    assert "Unit one: Minute 1. Vacuum?" in said
    assert "Unit three: Hold finished: 10 minutes." in said


def test_a_job_that_was_stopped_goes_on_with_all_its_units(
    monkeypatch: Patch, capsys: Capture
) -> None:
    lines = MORNING.splitlines(keepends=True)
    assert work(monkeypatch, "".join(lines[:14])) == 0
    capsys.readouterr()
    assert work(monkeypatch, "how are the units\nunit one\n403\n") == 0
    said = capsys.readouterr().out
    assert "Unit three: Practice job a goes on." in said
    assert "Unit two, step isolate. Hold:" in said
    assert of_units(ReadingTaken)[-1] == ("unit one", "403")


def test_a_log_of_one_unit_is_as_it_was(monkeypatch: Patch) -> None:
    assert work(monkeypatch, "understood\nvacuum 400 microns\n") == 0
    text = (job_folder("a") / "log.jsonl").read_text(encoding="utf-8")
    assert all("unit" not in json.loads(line) for line in text.splitlines())


def test_lines_of_another_unit_name_it_and_fit_the_schema(monkeypatch: Patch) -> None:
    assert work(monkeypatch, "understood\nnew unit two\nunit 3\nno\nunit one 400 microns\n") == 0
    text = (job_folder("a") / "log.jsonl").read_text(encoding="utf-8")
    lines = [json.loads(line) for line in text.splitlines()]
    for line in lines:
        Draft202012Validator(log_line_schema()).validate(line)
    assert {line.get("unit") for line in lines} == {None, "unit two"}


def test_another_procedure_for_a_unit_is_kept_beside_the_first(
    home: Path, monkeypatch: Patch, capsys: Capture
) -> None:
    assert work(monkeypatch, "understood\nnew unit 2 leak-search\n") == 0
    texts = read_procedures(job_folder("a"))
    assert (texts[0], len(texts)) == (TEXT, 2)
    started = [entry.event for entry in read_log(job_folder("a")).entries
               if isinstance(entry.event, JobStarted)]
    assert [event.procedure for event in started] == ["pump-down", "leak-search"]
    capsys.readouterr()
    assert work(monkeypatch, "where are we\n") == 0
    assert "Unit two: Practice job a goes on." in capsys.readouterr().out
    assert main(["report", "a"]) == 0
    assert "intact:" in (job_folder("a") / "report.html").read_text(encoding="utf-8")


def test_a_unit_with_a_procedure_that_is_not_there_is_not_begun(
    monkeypatch: Patch, capsys: Capture
) -> None:
    assert work(monkeypatch, "understood\nnew unit 2 no-such-thing\nwhich unit\n") == 0
    said = capsys.readouterr().out
    assert "Unit two was not begun: no procedure 'no-such-thing'" in said
    assert len(read_procedures(job_folder("a"))) == 1


def test_another_procedure_named_at_the_start_is_another_sheet_of_the_job(
    monkeypatch: Patch, capsys: Capture
) -> None:
    assert work(monkeypatch, "understood\nvacuum 400 microns\n") == 0
    assert work(monkeypatch, "understood\n300\n", procedure="other-way.procedure") == 0
    assert "Unit one, pump again: Local code" in capsys.readouterr().out
    assert of_units(ReadingTaken) == [("unit one", "400"), ("unit one, pump-again", "300")]
    assert work(monkeypatch, "which unit\n", procedure="other-way.procedure") == 0
    said = capsys.readouterr().out
    assert "Unit one, pump again is open." in said
    assert "Unit one, step isolate." in said
    assert work(monkeypatch, "which unit\n") == 0
    assert "Unit one is open." in capsys.readouterr().out


def test_another_sheet_knows_what_its_unit_was_told_and_what_is_told_with_it(
    monkeypatch: Patch,
) -> None:
    assert work(monkeypatch, "", "--site", "refrigerant=R-410A") == 0
    more = ("--site", "customer=Miller")
    assert work(monkeypatch, "", *more, procedure="other-way.procedure") == 0
    started = [entry.event for entry in read_log(job_folder("a")).entries
               if isinstance(entry.event, JobStarted)]
    assert started[1].site == {"refrigerant": "R-410A", "customer": "Miller"}


def test_a_line_for_a_unit_is_told_as_what_it_says(capsys: Capture) -> None:
    assert main(["parse", "unit two four hundred microns"]) == 0
    assert capsys.readouterr().out.strip() == "for-unit unit two reading vacuum 400 microns"


def test_a_finished_job_takes_another_procedure_and_refuses_its_own(
    monkeypatch: Patch, capsys: Capture
) -> None:
    assert work(monkeypatch, "understood\nfinish the job\nyes\n") == 0
    assert work(monkeypatch, "") == 2
    assert "is finished" in capsys.readouterr().err
    assert work(monkeypatch, "which unit\n", procedure="other-way.procedure") == 0
    assert "Unit one is finished: stopped early." in capsys.readouterr().out


def test_jobs_tells_of_every_unit(monkeypatch: Patch, capsys: Capture) -> None:
    assert work(monkeypatch, "understood\nnew unit two\nfinish the job\nyes\n") == 0
    capsys.readouterr()
    assert main(["jobs", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["units"] == {"unit one": "open at pull", "unit two": "finished: stopped-early"}
    assert told["state"] == "unit one open at pull; unit two finished: stopped-early"


def test_json_lines_carry_the_unit(monkeypatch: Patch, capsys: Capture) -> None:
    assert work(monkeypatch, "understood\nnew unit two\nunit one 400 microns\n", "--json") == 0
    found = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    begun = [line for line in found if line.get("kind") == "job-started"]
    assert [line.get("unit") for line in begun] == [None, "unit two"]


# --- what is shown and handed over --------------------------------------------------------------


def test_the_report_has_a_table_of_units_then_each_with_its_own_curve(
    monkeypatch: Patch, capsys: Capture
) -> None:
    assert work(monkeypatch, MORNING) == 0
    assert main(["report", "a"]) == 0
    page = (job_folder("a") / "report.html").read_text(encoding="utf-8")
    top, *units = page.split('<h2 class="unit"')
    assert len(units) == 3
    assert all("<svg" in unit for unit in units)
    assert '<a href="#Unit-two">Unit two</a>' in top
    table = top.partition('<table class="units')[2]
    assert table.index("Unit two") < table.index("Leaking") < table.index("Unit three")
    assert "835 microns" in units[1]
    assert "835 microns" not in units[0].partition("<details>")[0]


def test_what_only_one_unit_was_told_stands_with_it(monkeypatch: Patch) -> None:
    facts = ("--site", "refrigerant=R-410A", "--site", "customer=Miller & Son")
    assert work(monkeypatch, "understood\nnew unit two\n", *facts) == 0
    assert main(["report", "a"]) == 0
    page = (job_folder("a") / "report.html").read_text(encoding="utf-8")
    top, first, second = page.split('<h2 class="unit"')
    assert ("Miller &amp; Son" in top, "R-410A" in top) == (True, False)
    assert "Refrigerant: R-410A" in first
    assert "R-410A" not in second


def test_a_report_of_one_unit_names_none(monkeypatch: Patch) -> None:
    assert work(monkeypatch, "understood\nvacuum 400 microns\n") == 0
    assert main(["report", "a"]) == 0
    page = (job_folder("a") / "report.html").read_text(encoding="utf-8")
    assert "nit one" not in page
    assert "<th scope=\"col\">Unit</th>" not in page


def test_the_readings_have_a_column_for_the_unit_where_there_are_several(
    monkeypatch: Patch,
) -> None:
    assert work(monkeypatch, MORNING) == 0
    assert main(["report", "a"]) == 0
    text = (job_folder("a") / "readings.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert {row["unit"] for row in rows} >= {"microns"}
    assert [row["of_unit"] for row in rows if row["value"] == "835"] == ["unit two"]


def test_the_screen_says_which_unit_is_open_and_what_runs_in_the_others() -> None:
    bench = JobBench(TEXT)
    for line in ("understood", "vacuum 400 microns", "start the hold", "new unit two"):
        bench.say(line)
    view = screen_state(bench.job, bench.now)
    assert view.title == "Unit two: Evacuate"
    assert view.others == ("Unit one: isolate, hold 9:57 left",)
    assert not view.timers
    shown = Shown()
    shown.show(bench.job, bench.now)
    text = "\n".join(shown.lines())
    assert "Unit two: Evacuate" in text
    assert "Unit one: isolate, hold 9:57 left" in text
    bench.say("unit one 412 microns")
    assert screen_state(bench.job, bench.now).heard == "unit one 412 microns"
    bench.say("unit five")
    assert "Begin it?" in screen_state(bench.job, bench.now).question


def test_a_recorded_job_may_hold_lines_for_several_units(home: Path, capsys: Capture) -> None:
    lines = ["understood", "new unit two", "understood", "unit one vacuum 400 microns",
             "unit one start the hold", "unit two 410"]
    told = 'title = "Two"\nprocedure = "small.procedure"\nstart = 2026-03-02T09:00:00-05:00\n'
    told += "".join(f'[[line]]\ntyped = "{line}"\n' for line in lines)
    told += '[[line]]\nstopped = "3min"\n[[line]]\ntyped = "unit one 402"\n'
    (home / "job.toml").write_text(told, encoding="utf-8")
    replay = Replay(read_job(home), home / "out", None, None)  # type: ignore[arg-type]
    assert replay.play().counts == {"right": 7}
    said = capsys.readouterr().out
    assert "unit two: vacuum 410 microns" in said
    assert "Unit one: isolate, hold" in said
    assert "\nUnit one\n" in said
    assert "\nUnit two\n" in said
    assert (home / "out" / "report.html").is_file()
