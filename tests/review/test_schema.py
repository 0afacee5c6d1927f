"""The shipped JSON Schema fits every event, and refuses what is none."""

import json
from copy import deepcopy
from importlib import resources
from typing import Any

import jsonschema
import pytest
from msgspec.structs import fields

from fieldvoice.devices.joblog.lines import FIRST_PREV, line_hash, write_line
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.events import KINDS, Entry
from fieldvoice.review.schema import log_line_schema
from support.review_job import whole_job

SHIPPED = resources.files("fieldvoice.review").joinpath("joblog.schema.json")
SCHEMA = json.loads(SHIPPED.read_text("utf-8"))
CHECK = jsonschema.Draft202012Validator(SCHEMA)
AT = whole_job()[0].at


def example(kind: str) -> e.Event:
    """An event of that kind with a plausible value in every field."""
    values = {
        list[int]: [3],
        str: "x", int: 3, float: 1.5, bool: True, list[str]: ["x"], dict[str, str]: {},
        dict[str, Any]: {"intent": "reading", "value": "412"}, str | None: "x",
        int | None: 2, float | None: 0.5, bool | None: False, dict[str, float]: {"the hold": 9.5},
    }  # fmt: skip
    given = {f.name: values[f.type] for f in fields(KINDS[kind])}
    given |= {
        "source": "voice", "outcome": "accepted", "procedure_sha256": "0" * 64,
    } if kind in ("line-heard", "job-started") else {}  # fmt: skip
    if kind == "stage-left":
        given["outcome"] = "done"
    if kind in ("reading-taken", "reading-corrected", "reading-amended"):
        given["value"] = "-4.12E+3"
    known = {f.name for f in fields(KINDS[kind])}
    return KINDS[kind](**{k: v for k, v in given.items() if k in known})


def line(event: e.Event) -> dict:
    return json.loads(write_line(Entry(1, AT, event), 12.5, FIRST_PREV))


def test_the_schema_is_itself_valid():
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


def test_the_shipped_file_is_what_the_events_say_today():
    assert log_line_schema() == SCHEMA


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_a_line_of_every_kind_is_valid(kind):
    CHECK.validate(line(example(kind)))


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_unsaid_fields_may_be_null_or_missing(kind):
    found = line(example(kind))
    for f in fields(KINDS[kind]):
        if f.default is None:
            found["data"][f.name] = None
        elif not f.required:
            found["data"].pop(f.name, None)  # what is empty is left out anyway
    CHECK.validate(found)


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_a_missing_or_mistyped_field_is_refused(kind):
    for f in fields(KINDS[kind]):
        if not f.required:
            continue
        missing, mistyped = line(example(kind)), line(example(kind))
        del missing["data"][f.name]
        mistyped["data"][f.name] = [None]
        assert not CHECK.is_valid(missing), f.name
        assert not CHECK.is_valid(mistyped), f.name


def test_every_line_of_a_whole_job_is_valid():
    prev = FIRST_PREV
    for entry in whole_job():
        raw = write_line(entry, 1.0, prev)
        CHECK.validate(json.loads(raw))
        prev = line_hash(raw)


BROKEN = [
    ("seq", 0), ("seq", "1"), ("utc", "yesterday"), ("utc", "2026-05-14T14:02:00"), ("mono", "1"),
    ("kind", "reading-guessed"), ("prev", "abc"), ("v", 99), ("data", []),
]  # fmt: skip


@pytest.mark.parametrize(("name", "value"), BROKEN)
def test_a_broken_envelope_is_refused(name, value):
    found = line(e.StoodBy())
    CHECK.validate(deepcopy(found))
    found[name] = value
    assert not CHECK.is_valid(found)


@pytest.mark.parametrize(
    ("kind", "name", "value"),
    [
        ("line-heard", "source", "telepathy"), ("line-heard", "outcome", "lost"),
        ("line-heard", "confidence", 93), ("reading-taken", "value", "four twelve"),
        ("withdrawn", "withdraws", 0), ("job-started", "procedure_sha256", "abc"),
    ],
)  # fmt: skip
def test_values_outside_their_list_are_refused(kind, name, value):
    found = line(example(kind))
    found["data"][name] = value
    assert not CHECK.is_valid(found)


def test_unknown_fields_are_let_through_for_newer_logs():
    found = line(e.StoodBy())
    found["data"]["mood"] = "cheerful"
    found["extra"] = 1
    CHECK.validate(found)
