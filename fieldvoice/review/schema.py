"""The JSON Schema of a job log's line, built from the event classes.

`python -m fieldvoice.review.schema` prints it; joblog.schema.json beside this file holds it.
"""

from __future__ import annotations

import json
import types
from dataclasses import MISSING, fields
from importlib import resources
from typing import Any, Union, get_args, get_origin, get_type_hints

from fieldvoice.jobstate.events import KINDS, SCHEMA_VERSION, Event

_TYPES = {str: "string", int: "integer", float: "number", bool: "boolean"}
_ENVELOPE = {
    "v": {"const": SCHEMA_VERSION, "description": "version of this format"},
    "seq": {"type": "integer", "minimum": 1, "description": "1, 2, 3, ... without gaps"},
    "utc": {"type": "string", "format": "date-time", "description": "moment, ISO 8601 with offset",
            "pattern": r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:\d\d)$"},
    "mono": {"type": "number", "description": "seconds of a clock that never jumps"},
    "kind": {"enum": list(KINDS), "description": "which event; decides the shape of data"},
    "data": {"type": "object", "description": "the event's fields"},
    "prev": {"type": "string", "pattern": "^[0-9a-f]{64}$",
             "description": "SHA-256 of the line before, without its line feed; zeros on line 1"},
}  # fmt: skip
# narrower than the Python types say
_NARROW: dict[tuple[str, str], dict[str, Any]] = {
    ("line-heard", "source"): {"enum": ["voice", "typed", "recording"]},
    ("line-heard", "outcome"): {"enum": ["accepted", "asked-back", "refused", "ignored"]},
    ("line-heard", "confidence"): {"minimum": 0, "maximum": 1},
    ("reading-taken", "value"): {"pattern": r"^-?\d+(\.\d+)?([Ee][+-]?\d+)?$"},
    ("reading-corrected", "value"): {"pattern": r"^-?\d+(\.\d+)?([Ee][+-]?\d+)?$"},
    ("reading-corrected", "corrects"): {"minimum": 1},
    ("withdrawn", "withdraws"): {"minimum": 1},
    ("job-started", "procedure_sha256"): {"pattern": "^[0-9a-f]{64}$"},
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
        "required": list(_ENVELOPE),
        "allOf": [_when(kind) for kind in KINDS],
        "$defs": {kind: _data(event) for kind, event in KINDS.items()},
    }


def _when(kind: str) -> dict[str, Any]:
    return {
        "if": {"properties": {"kind": {"const": kind}}, "required": ["kind"]},
        "then": {"properties": {"data": {"$ref": f"#/$defs/{kind}"}}},
    }


def _data(event: type[Event]) -> dict[str, Any]:
    hints = get_type_hints(event)
    parts = fields(event)
    return {
        "description": (event.__doc__ or "").strip(),
        "type": "object",
        "properties": {
            f.name: _type(hints[f.name]) | _NARROW.get((event.kind, f.name), {}) for f in parts
        },
        "required": [
            f.name for f in parts if f.default is MISSING and f.default_factory is MISSING
        ],
    }


def _type(hint: Any) -> dict[str, Any]:
    if hint in _TYPES:
        return {"type": _TYPES[hint]}
    origin, inner = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        (plain,) = (part for part in inner if part is not type(None))
        return {"type": [_TYPES[plain], "null"]}
    if origin is list:
        return {"type": "array", "items": _type(inner[0])}
    if origin is dict:
        value = {} if inner[1] is Any else {"additionalProperties": _type(inner[1])}
        return {"type": "object", **value}
    raise TypeError(f"no JSON type for {hint!r}: events hold plain JSON values only")


def stored_schema() -> dict[str, Any]:
    """The schema as shipped in joblog.schema.json."""
    text = resources.files("fieldvoice.review").joinpath("joblog.schema.json").read_text("utf-8")
    found: dict[str, Any] = json.loads(text)
    return found


if __name__ == "__main__":
    print(json.dumps(log_line_schema(), indent=2))
