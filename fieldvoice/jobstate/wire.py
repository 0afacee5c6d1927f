"""The fields of an event as its line of the log has them: one type a name, no map.

A mapping becomes rows (jobstate/rows.py). Of an intent its name stands in `intent` and what it
carries in `meant`. Beside the exact text of a `value` stand its `number` and, where the event has
no unit of its own, its `unit`. Moments stand in UTC, their offset apart in `due_offset` and so on.
What is None or empty is left out, so that a column never has a type of nothing.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from functools import cache
from typing import Any, NamedTuple, get_origin

from msgspec import NODEFAULT, Struct, convert
from msgspec.structs import asdict, fields

from fieldvoice.jobstate.rows import from_rows, number_and_unit, to_rows

MOMENTS = ("due", "before", "after", "clock", "began")  # fields that hold an ISO time
INTENT, MEANT = "intent", "meant"  # of a mapping that is an intent: its name, its rows
VALUE, NUMBER, UNIT = "value", "number", "unit"
HOLD, OF_HOLD = "hold", "of_hold"  # of a reading the hold's step; whether a timer is a hold's


class Shape(NamedTuple):
    """Which fields of an event stand otherwise in its line."""

    maps: tuple[str, ...]
    intent: bool
    moments: tuple[str, ...]
    value: bool
    unit_too: bool  # the event has no field for the unit
    of_hold: bool
    required: frozenset[str]  # fields that are there also where they are empty


@cache
def shape(event: type[Struct]) -> Shape:
    """What of an event class stands otherwise in its line."""
    found = {field.name: field for field in fields(event)}
    maps = {name for name, field in found.items()
            if get_origin(field.type) is dict or field.type is dict}
    return Shape(
        tuple(sorted(maps - {INTENT})), INTENT in maps,
        tuple(name for name in MOMENTS if name in found),
        VALUE in found and found[VALUE].type is str, UNIT not in found,
        HOLD in found and found[HOLD].type is bool,
        frozenset(name for name, field in found.items()
                  if field.default is NODEFAULT and field.default_factory is NODEFAULT))


def written(event: Struct) -> dict[str, Any]:
    """The fields of an event as they are written."""
    plan, data = shape(type(event)), asdict(event)
    for name in plan.maps:
        data[name] = to_rows(data[name])
    if plan.intent:
        data |= _intent_written(data[INTENT])
    for name in plan.moments:
        data |= _moment_written(name, data[name])
    if plan.value:
        number, unit = number_and_unit(data[VALUE])
        data |= {NUMBER: number, **({UNIT: unit} if plan.unit_too else {})}
    if plan.of_hold:
        data[OF_HOLD] = data.pop(HOLD)
    return {name: value for name, value in data.items()
            if value is not None and (value != [] or name in plan.required)}


def read(event: type[Struct], data: dict[str, Any]) -> Any:
    """The event of that class whose line has these fields. Raises ValueError."""
    plan = shape(event)
    if not (plan.maps or plan.intent or plan.moments or plan.of_hold):
        return convert(data, event)
    data = dict(data)
    for name in plan.maps:
        if name in data or name not in plan.required:
            data[name] = _rows_read(name, data)
    if plan.intent:
        data[INTENT] = _intent_read(data)
    for name in plan.moments:
        data |= _moment_read(name, data)
    if plan.of_hold and OF_HOLD in data:
        data[HOLD] = data[OF_HOLD]
    return convert(data, event)


def _rows_read(name: str, data: dict[str, Any]) -> dict[str, Any]:
    try:
        return from_rows(data.get(name, []))
    except ValueError as error:
        told = str(error)
        at = told.replace("`$", f"`$.{name}") if "`$" in told else f"{told} - at `$.{name}`"
        raise ValueError(at) from None


def _intent_written(intent: dict[str, Any]) -> dict[str, Any]:
    name = intent.get(INTENT)
    plain = isinstance(name, str)
    return {INTENT: name if plain else None,
            MEANT: to_rows({k: v for k, v in intent.items() if k != INTENT or not plain})}


def _intent_read(data: dict[str, Any]) -> dict[str, Any]:
    name = data.get(INTENT)
    if name is not None and not isinstance(name, str):
        raise ValueError(f"Expected `str` - at `$.{INTENT}`")
    return ({} if name is None else {INTENT: name}) | _rows_read(MEANT, data)


def _moment_written(name: str, text: str) -> dict[str, str]:
    """In UTC where that can be read back exactly, else as it stands."""
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        return {name: text}
    if at.tzinfo is None:
        return {name: text}
    told = {name: at.astimezone(UTC).isoformat().replace("+00:00", "Z"),
            f"{name}_offset": at.isoformat()[-6:]}
    return told if _moment_read(name, told) == {name: text} else {name: text}


def _moment_read(name: str, data: dict[str, Any]) -> dict[str, str]:
    text, offset = data.get(name), data.get(f"{name}_offset")
    if offset is None or not isinstance(text, str):
        return {} if text is None else {name: text}
    try:
        ahead = datetime.strptime(offset, "%z").utcoffset() or timedelta(0)
        return {name: datetime.fromisoformat(text).astimezone(timezone(ahead)).isoformat()}
    except (ValueError, TypeError, OverflowError) as error:
        raise ValueError(f"{name}: {error}") from None
