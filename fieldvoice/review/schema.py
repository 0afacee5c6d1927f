"""The JSON Schema of a job log's line, built from the event classes.

`python -m fieldvoice.review.schema` prints it; joblog.schema.json beside this file holds it.
"""

from __future__ import annotations

import json
from typing import Any

import msgspec

from fieldvoice.jobstate import wire
from fieldvoice.jobstate.events import KINDS, SCHEMA_VERSION, Event
from fieldvoice.jobstate.rows import Row

_ENVELOPE = {
    "v": {"const": SCHEMA_VERSION, "description": "version of this format"},
    "seq": {"type": "integer", "minimum": 1, "description": "1, 2, 3, ... without gaps"},
    "turn": {"type": "integer", "minimum": 1,
             "description": "seq of the first line of the turn that it belongs to"},
    "turn_lines": {"type": "integer", "minimum": 1,
                   "description": "how many lines that turn has; it is whole or does not count"},
    "job": {"type": "string", "description": "the name that the job began with"},
    "utc": {"type": "string", "format": "date-time", "description": "moment, ISO 8601 in UTC",
            "pattern": r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z$"},
    "offset": {"type": "string", "pattern": r"^[+-]\d\d:\d\d$",
               "description": "what local time was ahead of UTC"},
    "mono": {"type": "number", "description": "seconds of a clock that never jumps"},
    "boot": {"type": ["string", "null"],
             "description": "which start of the computer mono counts from; absent: as before"},
    "kind": {"enum": list(KINDS), "description": "which event; decides the shape of data"},
    "unit": {"type": "string", "description": "which unit of the job; absent: its first one"},
    "data": {"type": "object", "description": "the event's fields"},
    "prev": {"type": "string", "pattern": "^[0-9a-f]{64}$",
             "description": "hash of the line before (of one of version 1: SHA-256 of its bytes "
                            "without its line feed); zeros on line 1"},
    "hash": {"type": "string", "pattern": "^[0-9a-f]{64}$",
             "description": "SHA-256 of the line's bytes before the comma in front of \"hash\"; "
                            "always the last member"},
}  # fmt: skip
_ROW = ("one value; text is exact, number and unit stand beside it; a value within another one has "
        "a JSON Pointer without its first slash for a name")
# narrower than the Python types say
_NARROW: dict[tuple[str, str], dict[str, Any]] = {
    ("line-heard", "source"): {"enum": ["voice", "typed", "recording"]},
    ("line-heard", "outcome"): {"enum": ["accepted", "asked-back", "refused", "ignored", "noted"]},
    ("line-heard", "confidence"): {"minimum": 0, "maximum": 1},
    ("line-heard", "intent"): {"description": "name of what was understood"},
    ("reading-taken", "value"): {"pattern": r"^-?\d+(\.\d+)?([Ee][+-]?\d+)?$"},
    ("reading-corrected", "value"): {"pattern": r"^-?\d+(\.\d+)?([Ee][+-]?\d+)?$"},
    ("reading-corrected", "corrects"): {"minimum": 1},
    ("withdrawn", "withdraws"): {"minimum": 1},
    ("reading-amended", "value"): {"pattern": r"^-?\d+(\.\d+)?([Ee][+-]?\d+)?$"},
    ("reading-amended", "amends"): {"minimum": 1},
    ("job-started", "procedure_sha256"): {"pattern": "^[0-9a-f]{64}$"},
    ("stage-left", "outcome"): {"enum": ["done", "skipped", "jumped", "back", "carried-over",
                                         "stopped-early"]},
    ("timer-started", "due"): {"format": "date-time"},
    ("timer-extended", "due"): {"format": "date-time"},
}


def log_line_schema() -> dict[str, Any]:
    """The schema (JSON Schema 2020-12) of one line of log.jsonl."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Fieldvoice job log, one line",
        "description": (
            "A job's log is UTF-8 text, one JSON object a line, only ever appended to. A "
            "correction is a new line that points at the seq of the old one. Fields that are "
            "unknown may be ignored. Pressures in si are absolute."
        ),
        "type": "object",
        "properties": _ENVELOPE,
        "required": [name for name in _ENVELOPE if name not in ("unit", "boot")],
        "allOf": [_when(kind) for kind in KINDS],
        "$defs": _events(),
    }


def _when(kind: str) -> dict[str, Any]:
    return {
        "if": {"properties": {"kind": {"const": kind}}, "required": ["kind"]},
        "then": {"properties": {"data": {"$ref": f"#/$defs/{kind}"}}},
    }


def _events() -> dict[str, Any]:
    """Of every kind of event, what its data may hold; and of a row."""
    _, found = msgspec.json.schema_components([*KINDS.values(), Row])
    data = {kind: _as_written(found[event.__name__], event) for kind, event in KINDS.items()}
    for (kind, name), narrower in _NARROW.items():
        data[kind]["properties"][name] |= narrower
    return data | {"row": found[Row.__name__] | {"description": _ROW}}


def _as_written(told: dict[str, Any], event: type[Event]) -> dict[str, Any]:
    """The schema of an event's fields, those told otherwise that stand otherwise in a line."""
    shape, fields = wire.shape(event), told["properties"]
    rows = {"type": "array", "items": {"$ref": "#/$defs/row"}}
    fields |= dict.fromkeys(shape.maps, rows)
    if shape.intent:
        fields |= {wire.INTENT: {"type": "string"}, wire.MEANT: rows}
    for name in shape.moments:
        fields[f"{name}_offset"] = {"type": "string", "pattern": r"^[+-]\d\d:\d\d$",
                                    "description": f"local offset of {name}, which is in UTC"}
    if shape.of_hold:
        fields[wire.OF_HOLD] = fields.pop(wire.HOLD)
    if shape.value:
        fields[wire.NUMBER] = {"type": "number", "description": "the value as a number"}
    if shape.value and shape.unit_too:
        fields[wire.UNIT] = {"type": "string", "description": "of the number"}
    return told


if __name__ == "__main__":
    print(json.dumps(log_line_schema(), indent=2))
