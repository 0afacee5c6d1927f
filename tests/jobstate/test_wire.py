"""What an event's line has comes back as the event, and a table can hold it."""

from __future__ import annotations

import json
from collections import defaultdict
from pathlib import Path

import duckdb
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec import NODEFAULT
from msgspec.structs import fields

from fieldvoice.devices.joblog.lines import FIRST_PREV, write_line
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.rows import from_rows, number_and_unit, to_rows
from fieldvoice.review.schema import log_line_schema
from support import every_sort
from support.bench import Bench
from support.review_job import whole_job

PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=12,
)  # fmt: skip


def through_json(event: e.Event) -> e.Event:
    return e.Event.from_dict(event.kind, json.loads(json.dumps(event.to_dict(), allow_nan=False)))


@pytest.mark.parametrize("kind", sorted(e.KINDS))
def test_no_field_that_may_be_empty_must_be_there(kind: str) -> None:
    """What is None is left out of a line: a field that must be there could not be read back."""
    for one in fields(e.KINDS[kind]):
        must = one.default is NODEFAULT and one.default_factory is NODEFAULT
        assert not (must and "None" in str(one.type)), one.name


def test_rows_hold_the_number_and_the_unit_beside_the_exact_text() -> None:
    assert to_rows({"altitude": "5280 ft", "rate": 1.5, "lines": [{"a/b": None}]}) == [
        {"name": "altitude", "type": "text", "text": "5280 ft", "number": 5280.0, "unit": "ft"},
        {"name": "rate", "type": "number", "text": "1.5", "number": 1.5},
        {"name": "lines", "type": "list"}, {"name": "lines/0", "type": "map"},
        {"name": "lines/0/a~1b", "type": "nothing"},
    ]  # fmt: skip


@pytest.mark.parametrize(("text", "found"), [
    ("412", (412.0, None)), ("-0.40 microns/min", (-0.4, "microns/min")), ("R-454B", (None, None)),
    ("4.12E+3", (4120.0, None)), ("", (None, None)), ("7 2 oz", (None, None)),
    ("nan", (None, None)), ("9" * 40, (None, None)),
])  # fmt: skip
def test_a_number_is_found_where_the_text_is_one(text: str, found: tuple) -> None:
    assert number_and_unit(text) == found


@settings(deadline=None)
@given(st.dictionaries(st.text(), PLAIN, max_size=4))
def test_any_values_come_back_from_their_rows(values: dict) -> None:
    assert from_rows(json.loads(json.dumps(to_rows(values)))) == values


@pytest.mark.parametrize("rows", [
    5, [{"name": "a"}], [{"name": "a", "type": "integer", "text": "many"}],
    [{"name": "a/b", "type": "text", "text": "x"}],
    [{"name": "a", "type": "number", "text": "inf"}],
    [{"name": "a", "type": "yes-no", "text": "1"}], [{"name": 5, "type": "text"}],
])  # fmt: skip
def test_rows_that_are_none_are_refused(rows: object) -> None:
    with pytest.raises(ValueError, match=r"row|Expected|missing"):
        from_rows(rows)


def sorts() -> list[e.Event]:
    """Of every sort of step, and of a whole job, all that happened."""
    bench = every_sort.at(Bench(every_sort.TEXT, {"altitude": "5280 ft"}), "stand")
    every_sort.run_hold(bench, every_sort.LEAKING, 3150)
    return [v.event for v in bench.log] + [v.event for v in whole_job()]


def test_every_sort_of_event_comes_back_as_it_was() -> None:
    found = sorts()
    assert {"verdict-given", "line-heard", "timer-started", "job-started"} <= {
        v.kind for v in found}
    assert [through_json(v) for v in found] == found


def test_moments_stand_in_utc_and_come_back_with_their_offset() -> None:
    event = e.TimerStarted("hold", 600, "2026-03-02T09:14:05.120000-05:00")
    assert event.to_dict()["due"] == "2026-03-02T14:14:05.120000Z"
    assert event.to_dict()["due_offset"] == "-05:00"
    assert through_json(event) == event
    for odd in ("soon", "2026-03-02T09:14:05", "2026-03-02T14:14:05Z"):
        assert through_json(e.TimerStarted("hold", 600, odd)).due == odd


def test_fields_of_version_1_are_read_as_they_stood() -> None:
    figures = {"readings": [{"minutes": 1.0}], "source": "s"}
    old = e.Event.from_dict("verdict-given", {"about": "decay", "verdict": "wet",
                                              "figures": figures}, 1)
    assert old == e.VerdictGiven("decay", "wet", figures)
    assert through_json(old) == old


def test_a_name_has_one_type_in_all_kinds() -> None:
    types = defaultdict(set)
    schema = log_line_schema()["$defs"]
    for kind in e.KINDS:
        for name, told in schema[kind]["properties"].items():
            for part in told.get("anyOf", [told]):
                if part.get("type") != "null":
                    types[name].add(part.get("type"))
    merged = {name: found - ({"integer"} if "number" in found else set())
              for name, found in types.items()}
    assert {name: found for name, found in merged.items() if len(found) != 1} == {}


def test_duckdb_reads_a_job_of_every_sort_without_a_json_column(tmp_path: Path) -> None:
    lines = [write_line(e.Entry(n, v.at, v.event), 1.0, FIRST_PREV)
             for n, v in enumerate(whole_job(), 1)]
    (tmp_path / "log.jsonl").write_bytes(b"".join(line + b"\n" for line in lines))
    shape = duckdb.execute(
        "select typeof(data), count(*) from read_json(?, map_inference_threshold=-1) group by 1",
        [str(tmp_path / "log.jsonl")]).fetchall()
    assert len(shape) == 1
    assert shape[0][1] == len(lines)
    assert "JSON" not in shape[0][0]
    assert "MAP" not in shape[0][0]
