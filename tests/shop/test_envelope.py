"""What stands about an event in its line: the shop's tables have it, in the site's own time."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import duckdb
import pytest

from fieldvoice.devices.joblog import JobLog
from fieldvoice.devices.joblog.lines import line_hash
from fieldvoice.jobstate import events as e
from fieldvoice.shop.ask import Shop, sql
from support import every_sort
from support.bench import Bench
from support.review_job import whole_job

CHICAGO = timezone(timedelta(hours=-6))
LATE = datetime(2026, 3, 31, 22, 30, tzinfo=CHICAGO)  # in UTC it is April already
BY_ITSELF = "read_json('jobs/*/log.jsonl', map_inference_threshold = -1, sample_size = -1)"


def job(folder: Path, *happened: e.Event, at: datetime = LATE, mode: str = e.WORK) -> Path:
    """A job's log, a minute between events."""
    started = e.JobStarted(folder.name, "small", "0" * 64, "0.1.0", {"place": "roof"}, mode)
    with JobLog.create(folder, "") as log:
        log.append_all([e.Entry(n + 1, at + timedelta(minutes=n), event)
                        for n, event in enumerate([started, *happened])])
    return folder / "log.jsonl"


def tight(minute: int = 0) -> e.VerdictGiven:
    return e.VerdictGiven("decay", "tight", {"readings": [{"minutes": 0.0, "pressure_pa": 40.0}]},
                          "stand")


def test_the_month_is_that_of_the_site_not_of_utc(tmp_path: Path) -> None:
    with Shop([job(tmp_path / "a", tight())]) as shop:
        for figure in ("jobs", "vacuum"):
            march, april = (shop.ask(figure, datetime(2026, month, 1), datetime(2026, month + 1, 1))
                            for month in (3, 4))
            assert (len(march.rows), len(april.rows)) == (1, 0), figure


def test_the_table_of_lines_has_the_whole_envelope(tmp_path: Path) -> None:
    log = job(tmp_path / "a", tight())
    text = sql("lines").replace("$files", f"['{log}']").replace("$modes", "['work']")
    with duckdb.connect() as base:
        base.execute(text)
        found = base.execute('select seq, turn, turn_lines, job, utc, "offset", hash from line '
                             "order by seq").fetchall()
    written = log.read_bytes().splitlines()
    assert [(*row[:4], row[5]) for row in found] == [
        (1, 1, 2, "a", "-06:00"), (2, 1, 2, "a", "-06:00")]
    assert found[0][4].astimezone(UTC) == LATE
    assert [row[6] for row in found] == [line_hash(line) for line in written]


def test_a_job_heard_from_a_recording_is_work_and_a_review_is_none(tmp_path: Path) -> None:
    log = job(tmp_path / "a", tight(), e.JobFinished("released"),
              e.HeaderAmended("place", "roof, east end", "roof", "Ann", "typing"),
              e.Remarked("look again", "Ann"), mode=e.RECORDING)
    with Shop([log]) as shop:
        table = shop.ask("jobs")
    (row,) = (dict(zip(table.columns, values, strict=True)) for values in table.rows)
    assert (row["place"], row["standing"]) == ("roof, east end", "finished: released")
    assert row["ended"] - row["began"] == timedelta(minutes=2)


EVERY = [
    e.LineReviewed(1, True, "Ann"), e.ReadingAmended(1, "1", "psig", 1.0, "Pa", "Ann", "misread"),
    e.Remarked("look again", "Ann"), e.NoteTranscribed(1, "oil", "by-hand", "Ann"),
    e.HeaderAmended("place", "roof", "", "Ann", "typing"), e.Attached("a", "0" * 64, 1),
    e.Attached("a", "0" * 64, 1, line=3), e.Said("x", "answer"), e.NoteTaken("oil", [], 3),
]  # fmt: skip


@pytest.mark.parametrize("event", EVERY, ids=lambda event: event.kind)
def test_what_is_work_is_so_for_the_shop_and_for_a_job_alike(
    tmp_path: Path, event: e.Event
) -> None:
    with Shop([job(tmp_path / "a", event)]) as shop:
        table = shop.ask("jobs")
    (row,) = (dict(zip(table.columns, values, strict=True)) for values in table.rows)
    assert (row["last_worked_on"] > row["began"]) == e.is_work(event)


def test_the_test_above_has_every_kind_that_is_no_work() -> None:
    assert {*e.BESIDE, *e.BESIDE_UNLESS_SAID} <= {type(event) for event in EVERY}


def test_an_answer_worked_out_when_asked_for_is_no_result_of_a_job(tmp_path: Path) -> None:
    log = job(tmp_path / "a", e.VerdictGiven("forecast", "About 10 minutes", {}, "pull"),
              e.VerdictGiven("charge", "9 oz", {}, "pull"), tight())
    with Shop([log]) as shop:
        table = shop.ask("jobs")
    assert table.rows[0][table.columns.index("verdicts")] == "decay tight"


def test_what_the_documented_reading_passes_is_what_keeps_data_a_record(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    bench = every_sort.at(Bench(every_sort.TEXT, {"altitude": "5280 ft"}), "stand")
    every_sort.run_hold(bench, every_sort.LEAKING, 3150)
    job(tmp_path / "jobs" / "a", *(entry.event for entry in (*bench.log, *whole_job())),
        e.Remarked("x", "Ann"), e.HeaderAmended("place", "roof", "", "Ann", "y"))
    assert BY_ITSELF in " ".join(sql("lines").replace("--", "").split())
    with duckdb.connect() as base:
        (shape,), = base.execute(f"select distinct typeof(data) from {BY_ITSELF}").fetchall()
        (plain,), = base.execute(
            "select distinct typeof(data) from read_json('jobs/*/log.jsonl')").fetchall()
    assert shape.startswith("STRUCT(")
    assert "JSON" not in shape
    assert plain.startswith("MAP(")  # else the remark beside the SQL is no longer true
