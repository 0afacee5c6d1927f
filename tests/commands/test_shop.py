"""`fieldvoice shop`: the figures as table, CSV, JSON and drawing, over all sorts of folders."""

import csv
import io
import json
from pathlib import Path

import pytest

from by_hand.shop_of_jobs import write_shop
from fieldvoice.__main__ import main
from fieldvoice.devices.joblog.lines import FIRST_PREV, line_hash, write_line
from fieldvoice.jobstate import events as e
from fieldvoice.review.csv_cell import csv_cell
from support.review_job import whole_job

Capture = pytest.CaptureFixture[str]


@pytest.fixture
def jobs(tmp_path: Path) -> Path:
    write_shop(tmp_path / "jobs", 4, 150)
    return tmp_path / "jobs"


def old_log(folder: Path) -> None:
    """As version 1 wrote it: mappings as they are, the local offset in the time."""
    import msgspec

    folder.mkdir()
    prev, lines = FIRST_PREV, []
    for n, entry in enumerate(whole_job(), 1):
        line = {"v": 1, "seq": n, "utc": entry.at.isoformat(), "mono": 1.0,
                "kind": entry.event.kind, "data": msgspec.structs.asdict(entry.event), "prev": prev}
        lines.append(json.dumps(line, ensure_ascii=False).encode())
        prev = line_hash(lines[-1])
    (folder / "log.jsonl").write_bytes(b"".join(line + b"\n" for line in lines))


def test_all_figures_stand_in_one_table_each(
    jobs: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "200")
    assert main(["shop", str(jobs)]) == 0
    told = capsys.readouterr()
    assert told.err == ""
    assert [line.split(":")[0] for line in told.out.splitlines()
            if line and not line.startswith(" ")] == [
        "jobs", "vacuum", "stages", "asked-back", "corrected"]
    assert "job-00004" in told.out
    assert "median minutes" in told.out


def test_csv_and_json_hold_the_same_rows(jobs: Path, capsys: Capture) -> None:
    assert main(["shop", str(jobs), "--figure", "vacuum", "--csv"]) == 0
    table = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert main(["shop", str(jobs), "--figure", "vacuum", "--json"]) == 0
    told = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [row["verdict"] for row in table] == [row["verdict"] for row in told]
    assert {row["figure"] for row in told} == {"vacuum"}
    assert len(table) == 4


def test_a_month_takes_in_what_is_of_it(jobs: Path, capsys: Capture) -> None:
    main(["shop", str(jobs), "--figure", "vacuum", "--json"])
    moments = [json.loads(line)["moment"] for line in capsys.readouterr().out.splitlines()]
    month = moments[0][:7]
    assert main(["shop", str(jobs), "--figure", "vacuum", "--json", "--month", month]) == 0
    found = [json.loads(line)["moment"] for line in capsys.readouterr().out.splitlines()]
    assert found == [moment for moment in moments if moment.startswith(month)]


def test_logs_of_the_older_form_are_taken_in_and_told(jobs: Path, capsys: Capture) -> None:
    old_log(jobs / "from-before")
    assert main(["shop", str(jobs), "--figure", "jobs", "--json", "--simulated"]) == 0
    told = capsys.readouterr()
    assert "1 log of the older form converted" in told.err
    [row] = [row for row in map(json.loads, told.out.splitlines()) if row["job"] == "from-before"]
    first = whole_job()[0]
    assert row["procedure"] == first.event.procedure
    assert row["began"][:16] == first.at.isoformat()[:16]


def test_links_are_not_followed_and_damage_is_told(
    jobs: Path, tmp_path: Path, capsys: Capture
) -> None:
    away = tmp_path / "away"
    write_shop(away, 1, 150)
    (jobs / "linked").symlink_to(away / "job-00001")
    (jobs / "half").mkdir()
    (jobs / "half" / "log.jsonl").symlink_to(away / "job-00001" / "log.jsonl")
    with (jobs / "job-00001" / "log.jsonl").open("ab") as file:
        file.write(b"rubbish\nmore\n")
    assert main(["shop", str(jobs), "--figure", "jobs", "--json"]) == 0
    told = capsys.readouterr()
    assert len(told.out.splitlines()) == 4
    assert told.err.count("is a link") == 2
    assert "2 damaged lines in the log of job-00001" in told.err


def test_a_drawing_is_written(jobs: Path, tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "stages.svg"
    assert main(["shop", str(jobs), "--figure", "stages", "--plot", str(path)]) == 0
    assert path.read_text(encoding="utf-8").startswith("<svg")
    nowhere = str(tmp_path / "no" / "x.svg")
    assert main(["shop", str(jobs), "--figure", "stages", "--plot", nowhere]) == 2
    assert "name another file" in capsys.readouterr().err


def test_the_question_itself_can_be_read(capsys: Capture) -> None:
    assert main(["shop", "--sql", "vacuum"]) == 0
    assert "data.about = 'decay'" in capsys.readouterr().out


@pytest.mark.parametrize(("arguments", "why"), [
    (["--csv"], "one figure"), (["--month", "2026-3"], "no month"), (["--since", "soon"], "no day"),
    (["--month", "2026-03", "--since", "2026-03-01"], "goes without"),
])  # fmt: skip
def test_what_cannot_be_asked_is_refused(
    jobs: Path, arguments: list[str], why: str, capsys: Capture
) -> None:
    assert main(["shop", str(jobs), *arguments]) == 2
    assert why in capsys.readouterr().err


def test_a_folder_that_is_none_is_told(tmp_path: Path, capsys: Capture) -> None:
    assert main(["shop", str(tmp_path / "none")]) == 2
    assert "cannot read" in capsys.readouterr().err


@pytest.mark.parametrize(("value", "cell"), [
    ("=1+1", "'=1+1"), ("@x", "'@x"), ("-x", "'-x"), ("+1 x", "'+1 x"), ("\tx", "'\tx"),
    (" =x", "' =x"), (-3.5, "-3.5"),
    ("-3.5", "-3.5"), ("+2E-3", "'+2E-3"), (None, ""), ("a", "a"),
])  # fmt: skip
def test_no_cell_is_a_formula(value: object, cell: str) -> None:
    assert csv_cell(value) == cell


def test_a_hostile_place_is_no_formula(jobs: Path, capsys: Capture) -> None:
    folder = jobs / "bad"
    folder.mkdir()
    event = e.JobStarted("bad", "p", "0" * 64, "0.1.0", {"place": '=HYPERLINK("x")\x1b[31m'})
    (folder / "log.jsonl").write_bytes(
        write_line(e.Entry(1, whole_job()[0].at, event), 1.0, FIRST_PREV) + b"\n")
    main(["shop", str(jobs), "--figure", "jobs", "--csv"])
    told = capsys.readouterr().out
    assert "'=HYPERLINK" in told
    assert "\x1b" not in told
    main(["shop", str(jobs), "--figure", "jobs"])
    assert "\x1b" not in capsys.readouterr().out


def test_with_practice_alone_one_line_says_so_and_how_to_see_it(
    tmp_path: Path, capsys: Capture
) -> None:
    assert main(["shop", str(tmp_path)]) == 0
    assert capsys.readouterr().out == f"No figures: no job in {tmp_path} tells any.\n"
    (tmp_path / "try").mkdir()
    event = e.JobStarted("try", "p", "0" * 64, "0.1.0", {}, e.PRACTICE)
    (tmp_path / "try" / "log.jsonl").write_bytes(
        write_line(e.Entry(1, whole_job()[0].at, event), 1.0, FIRST_PREV) + b"\n")
    assert main(["shop", str(tmp_path)]) == 0
    assert capsys.readouterr().out == (f"No figures: {tmp_path} has 1 job of practice or a replay; "
                                       "--simulated shows them too.\n")
    assert main(["shop", str(tmp_path), "--simulated"]) == 0
    assert "try" in capsys.readouterr().out
