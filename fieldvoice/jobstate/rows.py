"""Values of any shape as rows of one shape, so that a table can hold them, and back again.

One value is one row: {"name": "rate", "type": "number", "text": "1.5", "number": 1.5}. `text` is
exact and is what is read back; `number`, and `unit` where the text is a number with its unit
("5280 ft"), stand beside it for reckoning. A value within another one has a path for its name, as
JSON Pointer (RFC 6901) writes it without the first slash: "line/slope"; the value around it has a
row of its own, of type "map" or "list", before it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from math import isfinite
from typing import Any, Literal

import msgspec

_DEEPEST = 32  # values within values; nothing of ours comes near it
_WHOLE = 2**53  # from here on a JSON number is not exact everywhere
_NUMBER = re.compile(  # and its unit
    r"(-?\d{1,30}(?:\.\d{1,30})?(?:[Ee][+-]?\d{1,2})?)(?: ([^\s\d]\S{0,29}))?")


class Row(msgspec.Struct, frozen=True, omit_defaults=True):
    """One value. Fields that do not apply are left out."""

    name: str
    type: Literal["text", "integer", "number", "yes-no", "nothing", "list", "map"]
    text: str | None = None  # exact; none of "nothing", "list" and "map"
    number: float | None = None
    unit: str | None = None


def number_and_unit(text: str) -> tuple[float | None, str | None]:
    """The number that a text is, with the unit behind it: "5280 ft", "-0.4"; else nothing."""
    found = _NUMBER.fullmatch(text)
    return (float(found[1]), found[2]) if found else (None, None)


def to_rows(values: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The rows of a mapping of plain JSON values, as they are written."""
    return [msgspec.to_builtins(row) for name, value in values.items()
            for row in _rows(_escaped(name), value)]


def from_rows(data: object) -> dict[str, Any]:
    """The mapping that the rows were made of. Raises ValueError that names the row."""
    whole: dict[str, Any] = {}
    around: dict[str, dict[str, Any] | list[Any]] = {}
    for row in msgspec.convert(data, list[Row]):
        path, within, name = row.name.rpartition("/")
        holder = around.get(path) if within else whole
        if holder is None or path.count("/") > _DEEPEST:
            raise ValueError(f"row {row.name[:80]!r}: there is no {path[:80]!r} around it")
        value = _value(row)
        if row.type in ("list", "map"):
            around[row.name] = value
        if isinstance(holder, list):
            holder.append(value)
        else:
            holder[name.replace("~1", "/").replace("~0", "~")] = value
    return whole


def _rows(name: str, value: Any) -> Iterator[Row]:
    if isinstance(value, Mapping):
        yield Row(name, "map")
        for key, part in value.items():
            yield from _rows(f"{name}/{_escaped(key)}", part)
    elif isinstance(value, list | tuple):
        yield Row(name, "list")
        for place, part in enumerate(value):
            yield from _rows(f"{name}/{place}", part)
    else:
        yield _row(name, value)


def _row(name: str, value: str | bool | int | float | None) -> Row:
    if value is None:
        return Row(name, "nothing")
    if isinstance(value, bool):
        return Row(name, "yes-no", "yes" if value else "no")
    if isinstance(value, int):
        return Row(name, "integer", str(value), float(value) if abs(value) < _WHOLE else None)
    if isinstance(value, float):
        return Row(name, "number", repr(value), value)
    text = str.__str__(value)  # a unit's name is more than a string
    return Row(name, "text", text, *number_and_unit(text))


def _value(row: Row) -> Any:
    text = row.text or ""
    try:
        match row.type:
            case "text":
                return text
            case "integer":
                return int(text)
            case "number":
                return _finite(text)
            case "yes-no":
                return {"yes": True, "no": False}[text]
    except (ValueError, KeyError):
        raise ValueError(f"row {row.name[:80]!r}: {text[:80]!r} is no {row.type}") from None
    return {"list": [], "map": {}, "nothing": None}[row.type]


def _finite(text: str) -> float:
    number = float(text)
    if not isfinite(number):
        raise ValueError(text)
    return number


def _escaped(name: str) -> str:
    return name.replace("~", "~0").replace("/", "~1")
