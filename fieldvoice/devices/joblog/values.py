"""What the values of an event must be beside their types, so that whoever reads a log can use them.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import datetime
from functools import cache
from typing import Any

from fieldvoice.jobstate.events import PRACTICE, RECORDING, REPLAY, WORK, Event

_DECIMAL = re.compile(r"-?\d{1,40}(\.\d{1,40})?([Ee][+-]?\d{1,3})?")
_GREATEST = 1e12  # of any number of an event, in its SI unit or in seconds
_MOMENTS = ("due", "clock", "before", "after", "began")  # ISO times
_READINGS = ("reading-taken", "reading-corrected")


def check_values(event: Event) -> None:
    """Raise ValueError where an event says what no event can say."""
    for name, check in _checks(type(event)):
        value = getattr(event, name)
        if value is not None and not check(value):
            raise ValueError(f"no such value can be: {str(value)[:40]!r} - at `$.{name}`")


@cache
def _checks(kind: type[Event]) -> tuple[tuple[str, Callable[[Any], bool]], ...]:
    """The fields that are looked at, each with what it must be."""
    found: list[tuple[str, Callable[[Any], bool]]] = []
    for name, type_ in kind.__annotations__.items():
        if "float" in str(type_) and "dict" not in str(type_):
            found.append((name, _is_sane))
        elif name in _MOMENTS:
            found.append((name, _is_moment))
        elif name == "mode":
            found.append((name, lambda v: v in (WORK, PRACTICE, REPLAY, RECORDING)))
        elif name == "value" and kind.kind in _READINGS:
            found.append((name, lambda v: _DECIMAL.fullmatch(v) is not None))
    return tuple(found)


def _is_sane(value: float) -> bool:
    return -_GREATEST < value < _GREATEST


def _is_moment(value: str) -> bool:
    try:
        at = datetime.fromisoformat(value)
    except ValueError:
        return False
    return at.tzinfo is not None and 1900 < at.year < 2400
