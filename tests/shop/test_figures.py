"""The figures of a shop, against plain reckoning over the entries and against values by hand."""

from __future__ import annotations

import random
import re
import statistics
from collections import defaultdict
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from by_hand.shop_of_jobs import write_shop
from fieldvoice.devices.joblog import read_log
from fieldvoice.devices.joblog.lines import FIRST_PREV, line_hash, write_line
from fieldvoice.jobstate import events as e
from fieldvoice.shop.ask import FIGURES, Shop, ShopError, Table, sql
from fieldvoice.shop.plot import DRAWN, svg
from support import every_sort
from support.bench import Bench

AT = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
PA = 0.13332236842105263  # of a micron


def write(folder: Path, happened: Sequence[tuple[Any, ...]]) -> Path:
    """A log: minutes since AT, the event, and its unit where that is not the first."""
    folder.mkdir(parents=True, exist_ok=True)
    prev, lines = FIRST_PREV, []
    for seq, (minute, event, *unit) in enumerate(happened, 1):
        entry = e.Entry(seq, AT + timedelta(minutes=minute), event, *unit)
        lines.append(write_line(entry, float(seq), prev))
        prev = line_hash(lines[-1])
    (folder / "log.jsonl").write_bytes(b"".join(line + b"\n" for line in lines))
    return folder / "log.jsonl"


def started(job: str, mode: str = e.WORK, **site: str) -> e.JobStarted:
    return e.JobStarted(job, "small", "0" * 64, "0.1.0", site, mode)


def rows(table: Table) -> list[dict[str, Any]]:
    return [dict(zip(table.columns, row, strict=True)) for row in table.rows]


def asked(logs: list[Path], figure: str, *span: datetime | None, **more: Any) -> list[dict]:
    with Shop(logs, **more) as shop:
        return rows(shop.ask(figure, *span))


# --- by hand ------------------------------------------------------------------------------------


def test_time_per_stage_leaves_out_interruptions_and_what_was_not_left(tmp_path: Path) -> None:
    logs = [
        write(tmp_path / "a", [(0, started("a")), (0, e.StageEntered("s1", "evacuation")),
                               (10, e.Said("x", "answer")), (610, e.JobResumed("0.1.0")),
                               (620, e.StageLeft("s1", "evacuation", "done")),
                               (620, e.StageEntered("s2", "release"))]),
        write(tmp_path / "b", [(0, started("b")), (0, e.StageEntered("x", "evacuation")),
                               (40, e.StageLeft("x", "evacuation", "back")),
                               (50, e.StageEntered("x", "evacuation")),
                               (70, e.StageLeft("x", "evacuation", "done"))]),
    ]  # fmt: skip
    assert asked(logs, "stages") == [{  # 20 and 60 minutes
        "stage": "evacuation", "jobs": 2, "times_entered": 3, "lower_quartile_minutes": 30.0,
        "median_minutes": 40.0, "upper_quartile_minutes": 50.0, "longest_minutes": 60.0}]


def test_a_review_in_an_interruption_is_no_work_in_the_stage(tmp_path: Path) -> None:
    log = write(tmp_path / "a", [(0, started("a")), (0, e.StageEntered("s1", "evacuation")),
                                 (10, e.Said("x", "answer")), (400, e.Remarked("tidy", "Bo")),
                                 (610, e.JobResumed("0.1.0")),
                                 (620, e.StageLeft("s1", "evacuation", "done"))])  # fmt: skip
    assert [row["median_minutes"] for row in asked([log], "stages")] == [20.0]


def hold(first: float, last: float, minutes: float) -> dict[str, Any]:
    return {"readings": [{"minutes": 0.0, "pressure_pa": first * PA},
                         {"minutes": minutes, "pressure_pa": last * PA}]}


def test_the_vacuum_tests_of_a_month_in_local_time_without_those_taken_back(
    tmp_path: Path,
) -> None:
    log = write(tmp_path / "a", [
        (0, started("a")), (1, e.VerdictGiven("decay", "leaking", hold(400, 900, 10), "stand")),
        (2, e.VerdictGiven("decay", "wet", hold(400, 700, 10), "stand")), (3, e.Withdrawn(3)),
        (4, e.VerdictGiven("decay", "tight", hold(400, 420, 8), "stand")), (5, e.Withdrawn(5)),
        (6, e.Withdrawn(6)),
        (60 * 24 * 40, e.VerdictGiven("decay", "tight", hold(300, 310, 10), "stand")),
    ])  # fmt: skip
    march = asked([log], "vacuum", datetime(2026, 3, 1), datetime(2026, 4, 1))
    assert [(r["verdict"], r["first_microns"], r["last_microns"], r["minutes"], r["rise_microns"],
             r["microns_a_minute"]) for r in march] == [
        ("leaking", 400.0, 900.0, 10.0, 500.0, 50.0), ("tight", 400.0, 420.0, 8.0, 20.0, 2.5)]
    assert len(asked([log], "vacuum")) == 3


def test_jobs_with_place_and_standing_by_the_newest_word(tmp_path: Path) -> None:
    logs = [
        write(tmp_path / "a", [(0, started("a", place="roof", technician="Ann Lee")),
                               (1, e.StepOpened("s", "one")), (2, e.FactTold("place", "yard")),
                               (3, e.VerdictGiven("decay", "tight", {}, "one")),
                               (4, e.JobFinished("released"))]),
        write(tmp_path / "b", [(0, started("b")), (1, e.StepOpened("s", "one")),
                               (4, e.JobFinished("released")), (5, e.JobReopened("0.1.0"))]),
        write(tmp_path / "p", [(0, started("p", e.PRACTICE))]),
    ]  # fmt: skip
    found = asked(logs, "jobs")
    assert [(r["job"], r["place"], r["technician"], r["standing"], r["verdicts"]) for r in found] \
        == [("a", "yard", "Ann Lee", "finished: released", "decay tight"),
            ("b", None, None, "open", None)]
    assert found[0]["began"] == datetime(2026, 3, 2, 9, 0)
    assert [r["ended"] for r in found] == [datetime(2026, 3, 2, 9, 4), None]
    assert found[1]["last_worked_on"] == datetime(2026, 3, 2, 9, 5)
    assert [r["job"] for r in asked(logs, "jobs", modes=("practice",))] == ["p"]


def test_of_several_units_those_that_are_open_are_named_until_all_are_finished(
    tmp_path: Path,
) -> None:
    begun = [(0, started("a")), (1, e.StepOpened("s", "one")), (2, started("a"), "unit two"),
             (2, e.StepOpened("s", "one"), "unit two"), (3, e.StepOpened("s", "one"), "unit three")]
    first = (4, e.JobFinished("released"))
    others = [(5, e.JobFinished("released"), "unit two"), (6, e.JobFinished("held"), "unit three")]
    found = [asked([write(tmp_path / f"{n}", happened)], "jobs")[0] for n, happened in enumerate(
        [begun, [*begun, first], [*begun, first, others[0]], [*begun, first, *others]])]
    assert [(r["standing"], r["ended"] is None) for r in found] == [
        ("open: unit one; unit two; unit three", True), ("open: unit two; unit three", True),
        ("open: unit three", True), ("finished: held, released", False)]


def heard(value: str, outcome: str, noise: float | None) -> e.LineHeard:
    return e.LineHeard(f"vacuum {value}", "voice", {"intent": "reading", "value": value}, 0.9,
                       outcome=outcome, noise_db=noise, speech_db=-20.0, clipped=noise == -35.0)


def test_readings_asked_back_stand_by_the_loudness_of_the_background(tmp_path: Path) -> None:
    log = write(tmp_path / "a", [
        (0, started("a")), (1, heard("1", "asked-back", -35.0)), (2, heard("1", "accepted", -39.9)),
        (3, heard("2", "accepted", -40.0)), (4, heard("2", "accepted", None)),
        (5, e.LineHeard("next", "voice", {"intent": "next"}, 0.5, noise_db=-35.0)),
    ])  # fmt: skip
    assert [(r["background"], r["readings"], r["asked_back"], r["percent_asked_back"],
             r["too_loud"]) for r in asked([log], "asked-back")] == [
        ("-40 to -30 dB", 3, 1, 33.3, 1), ("not measured", 1, 0, 0.0, 0)]


def test_what_was_corrected_stands_with_what_was_right(tmp_path: Path) -> None:
    def taken(value: str, line: int) -> e.ReadingTaken:
        return e.ReadingTaken("vacuum", value, "microns", 1.0, "Pa", "pull", line)

    log = write(tmp_path / "a", [
        (0, started("a")), (1, heard("415", "accepted", None)), (1, taken("415", 2)),
        (2, e.ReadingCorrected(3, "450", "microns", 1.0, "Pa", 4)),
        (3, heard("415", "accepted", None)), (3, taken("415", 5)),
        (4, e.ReadingCorrected(6, "450", "microns", 1.0, "Pa", 7)),
        (5, heard("500", "accepted", None)), (5, taken("500", 8)), (6, e.Withdrawn(9)),
        (7, heard("600", "accepted", None)), (7, taken("600", 11)),
    ])  # fmt: skip
    assert [(r["heard"], r["taken_as"], r["corrected_to"], r["times"], r["jobs"])
            for r in asked([log], "corrected")] == [
        ("vacuum 415", "415 microns", "450 microns", 2, 1),
        ("vacuum 500", "500 microns", "taken back", 1, 1)]


# --- against plain reckoning --------------------------------------------------------------------


@pytest.fixture(scope="module")
def shop_of_20(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    folder = tmp_path_factory.mktemp("shop")
    write_shop(folder, 20, 200)
    return sorted(folder.glob("*/log.jsonl"))


def test_stages_as_plain_python_has_them(shop_of_20: list[Path]) -> None:
    spent: dict[str, list[float]] = defaultdict(list)
    for log in shop_of_20:
        entered: dict[str, datetime] = {}
        for entry in read_log(log.parent).entries:
            if isinstance(entry.event, e.StageEntered):
                entered[entry.event.called] = entry.at
            elif isinstance(entry.event, e.StageLeft):
                length = entry.at - entered[entry.event.called]
                spent[entry.event.called].append(length / timedelta(minutes=1))
    found = {r["stage"]: r for r in asked(shop_of_20, "stages")}
    assert found.keys() == spent.keys()
    for stage, minutes in spent.items():
        low, middle, high = statistics.quantiles(minutes, n=4, method="inclusive")
        assert found[stage]["median_minutes"] == pytest.approx(middle, abs=0.051)
        assert found[stage]["lower_quartile_minutes"] == pytest.approx(low, abs=0.051)
        assert found[stage]["upper_quartile_minutes"] == pytest.approx(high, abs=0.051)


def test_asked_back_and_corrected_as_plain_python_has_them(shop_of_20: list[Path]) -> None:
    lines = [v.event for log in shop_of_20 for v in read_log(log.parent).entries]
    heard_lines = [v for v in lines if isinstance(v, e.LineHeard)]
    table = asked(shop_of_20, "asked-back")
    assert sum(r["readings"] for r in table) == len(heard_lines)
    assert sum(r["asked_back"] for r in table) == sum(
        v.outcome == "asked-back" for v in heard_lines) > 0
    corrected = sum(isinstance(v, e.ReadingCorrected) for v in lines)
    assert sum(r["times"] for r in asked(shop_of_20, "corrected")) == corrected > 0


def test_real_turns_give_the_verdict_that_was_spoken(tmp_path: Path) -> None:
    bench = every_sort.at(Bench(every_sort.TEXT), "stand")
    every_sort.run_hold(bench, every_sort.TIGHT, 455)
    log = tmp_path / "a" / "log.jsonl"
    log.parent.mkdir()
    log.write_bytes(b"".join(write_line(v, 1.0, FIRST_PREV) + b"\n" for v in bench.log))
    [test] = asked([log], "vacuum")
    assert (test["verdict"], test["first_microns"], test["last_microns"], test["minutes"]) == (
        "tight", 450.0, 455.0, 10.0)


# --- damage and hostile names ---------------------------------------------------------------------


def test_damaged_lines_are_counted_and_never_stop_the_rest(
    tmp_path: Path, shop_of_20: list[Path]
) -> None:
    chance = random.Random(3)
    whole = asked(shop_of_20, "jobs")
    bad = tmp_path / "bad" / "log.jsonl"
    bad.parent.mkdir()
    lines = shop_of_20[0].read_bytes().splitlines()
    rubbish = [b"garbage", b"[" * 200_000, b'{"v": 1e999, "seq": "x"}', b"\xff\xfe\x00", b"5",
               b'{"seq": 5, "kind": "said", "utc": "never"}', bytes(chance.randbytes(300)).replace(
                   b"\n", b"")]
    bad.write_bytes(b"\n".join([*lines[:50], *rubbish, *lines[50:-1], lines[-1][:40]]) + b"\n")
    with Shop([*shop_of_20, bad]) as shop:
        found = rows(shop.ask("jobs"))
        assert shop.ignored.lines == {"bad": len(rubbish) + 1}
    assert [r for r in found if r["job"] != "bad"] == whole
    assert len([r for r in found if r["job"] == "bad"]) == 1


def test_a_log_that_cannot_be_read_at_all_is_named_and_left_out(tmp_path: Path) -> None:
    good = write(tmp_path / "good", [(0, started("good"))])
    with Shop([good, tmp_path / "gone" / "log.jsonl"]) as shop:
        assert [r["job"] for r in rows(shop.ask("jobs"))] == ["good"]
        assert shop.ignored.logs == (str(tmp_path / "gone" / "log.jsonl"),)


@pytest.mark.parametrize("name", [
    "a*b", "a[1]", "a?b", "x'); drop table line; --", 'quote"s', "year=2026", "s3:", "two words",
    "new\nline", "é", "{a,b}", "--",
])  # fmt: skip
def test_a_folder_may_have_any_name(tmp_path: Path, name: str) -> None:
    logs = [write(tmp_path / folder, [(0, started("x"))]) for folder in (name, "a1")]
    assert sorted(r["job"] for r in asked(logs, "jobs")) == sorted([name, "a1"])


def test_without_any_job_there_is_nothing_to_tell() -> None:
    with Shop([]) as shop:
        assert all(shop.ask(name).rows == () for name in FIGURES)


def test_the_sql_of_an_unknown_figure_is_refused() -> None:
    assert "read_json" in sql("lines")
    with pytest.raises(ShopError, match="no figure is called"):
        sql("../lines")


@pytest.mark.parametrize("name", DRAWN)
def test_a_drawing_has_a_bar_for_each_row_and_escapes_what_was_heard(
    name: str, shop_of_20: list[Path], tmp_path: Path
) -> None:
    with Shop(shop_of_20) as shop:
        table = shop.ask(name)
        drawn = svg(table)
        assert drawn.count('fill="#2b6ca3"') == min(len(table.rows), 60) > 0
        with pytest.raises(ShopError, match="jobs has no drawing"):
            svg(shop.ask("jobs"))
    hostile = Table("corrected", ("heard", "times", "corrected_to"), (("<script>", 2, "&"),))
    assert "<script>" not in svg(hostile)


@pytest.mark.parametrize(("most", "ticks"), [
    (10.3, ["0", "5", "10"]), (3310.0, ["0", "1000", "2000", "3000"]), (0.7, ["0", "0.2", "0.4"]),
    (5.0, ["0", "1", "2", "3", "4", "5"]),
])  # fmt: skip
def test_the_ticks_of_a_drawing_are_round(most: float, ticks: list[str]) -> None:
    drawn = svg(Table("vacuum", ("moment", "job", "verdict", "first_microns", "last_microns"),
                      ((AT, "a", "tight", most / 2, most),)))
    found = re.findall(r'text-anchor="middle">([^<]+)<', drawn)
    assert found[: len(ticks)] == ticks
    assert len(found) <= 6


def test_of_many_vacuum_tests_the_newest_are_drawn() -> None:
    tests = tuple((AT + timedelta(days=n), f"job-{n}", "tight", 300.0, 310.0) for n in range(70))
    drawn = svg(Table("vacuum", ("moment", "job", "verdict", "first_microns", "last_microns"),
                      tests))
    assert "10 earlier ones not drawn" in drawn
    assert "job-69" in drawn
    assert "job-9<" not in drawn
