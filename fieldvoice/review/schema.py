"""The JSON Schema of a job log's line, built from the event classes.

`python -m fieldvoice.review.schema` prints it; joblog.schema.json beside this file holds it.
"""

from __future__ import annotations

import json
from typing import Any

import msgspec

from fieldvoice.jobstate.events import KINDS, SCHEMA_VERSION

_ENVELOPE = {
    "v": {"const": SCHEMA_VERSION, "description": "version of this format"},
    "seq": {"type": "integer", "minimum": 1, "description": "1, 2, 3, ... without gaps"},
    "utc": {"type": "string", "format": "date-time", "description": "moment, ISO 8601 with offset",
            "pattern": r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:\d\d)$"},
    "mono": {"type": "number", "description": "seconds of a clock that never jumps"},
    "boot": {"type": ["string", "null"],
             "description": "which start of the computer mono counts from; absent: as before"},
    "kind": {"enum": list(KINDS), "description": "which event; decides the shape of data"},
    "unit": {"type": "string", "description": "which unit of the job; absent: its first one"},
    "data": {"type": "object", "description": "the event's fields"},
    "prev": {"type": "string", "pattern": "^[0-9a-f]{64}$",
             "description": "SHA-256 of the line before, without its line feed; zeros on line 1"},
}  # fmt: skip
# narrower than the Python types say
_NARROW: dict[tuple[str, str], dict[str, Any]] = {
    ("line-heard", "source"): {"enum": ["voice", "typed", "recording"]},
    ("line-heard", "outcome"): {"enum": ["accepted", "asked-back", "refused", "ignored", "noted"]},
    ("line-heard", "confidence"): {"minimum": 0, "maximum": 1},
    ("reading-taken", "value"): {"pattern": r"^-?\d+(\.\d+)?([Ee][+-]?\d+)?$"},
    ("reading-corrected", "value"): {"pattern": r"^-?\d+(\.\d+)?([Ee][+-]?\d+)?$"},
    ("reading-corrected", "corrects"): {"minimum": 1},
    ("withdrawn", "withdraws"): {"minimum": 1},
    ("reading-amended", "value"): {"pattern": r"^-?\d+(\.\d+)?([Ee][+-]?\d+)?$"},
    ("reading-amended", "amends"): {"minimum": 1},
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
    """Of every kind of event, what its data may hold."""
    _, found = msgspec.json.schema_components(KINDS.values())
    for (kind, name), narrower in _NARROW.items():
        found[KINDS[kind].__name__]["properties"][name] |= narrower
    return {kind: found[event.__name__] for kind, event in KINDS.items()}


if __name__ == "__main__":
    print(json.dumps(log_line_schema(), indent=2))
