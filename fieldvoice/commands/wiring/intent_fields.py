"""An intent as the fields of a JSON object, and as one line for people."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from fieldvoice.language.intents import ForUnit, Intent, NotUnderstood, Reading


def fields(intent: Intent, expected: str | None = None) -> dict[str, Any]:
    """The intent as plain JSON values; a reading's quantity and unit are filled in when unsaid.

    `expected`: the quantity that a step would wait for. A reading that cannot be, such as a vacuum
    in degrees, also carries the `reason`.
    """
    found = intent.to_dict()
    if isinstance(intent, Reading):
        found |= _filled_in(intent, expected)
    elif isinstance(parts := getattr(intent, "readings", None), tuple):
        found["readings"] = [fields(part, expected) for part in parts]
    elif isinstance(intent, ForUnit):
        found["said"] = fields(intent.said, expected)
    return found


def _filled_in(reading: Reading, expected: str | None) -> dict[str, Any]:
    from fieldvoice.quantity.resolve_unit import Refused, resolve_quantity, resolve_unit
    from fieldvoice.quantity.site import STANDARD

    about = resolve_quantity(reading.unit, reading.quantity, expected)
    if isinstance(about, Refused):
        return {} if about.kind == "which-quantity" else {"reason": about.reason}
    unit = resolve_unit(reading.value, reading.unit, about, STANDARD)
    if isinstance(unit, Refused):
        return {"quantity": about.name, "reason": unit.reason}
    value = abs(reading.value) if unit == "inHg-vacuum" else reading.value
    return {"quantity": about.name, "unit": unit, "value": format(value, "f")}


def describe(intent: Intent, expected: str | None = None) -> str:
    """One line: the intent's name, then what it carries."""
    if isinstance(intent, NotUnderstood):
        return f"not understood: {intent.reason}"
    return _line(fields(intent, expected))


def _line(found: dict[str, Any]) -> str:
    return " ".join([str(found.pop("intent")), *_told(found)])


def _told(found: dict[str, Any]) -> list[str]:
    if "value" in found and "quantity" in found:  # a reading, in the order it is spoken
        parts = [found.pop(key, None) for key in ("quantity", "value", "unit")]
        return [*(str(part) for part in parts if part is not None), *_told(found)]
    return [_item(key, value) for key, value in found.items() if value is not None]


def _item(key: str, value: Any) -> str:
    if key == "readings":
        return "; ".join(" ".join(_told({**part, "intent": None})) for part in value)
    if key == "said":
        return _line(value)
    if key == "duration":
        return f"{Decimal(str(value)).normalize():f} s"
    return f"({value})" if key == "reason" else str(value)
