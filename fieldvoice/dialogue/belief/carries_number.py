"""Whether an intent carries a number."""

from __future__ import annotations

from fieldvoice.language.intents import Intent


def has_number(intent: Intent) -> bool:
    """Whether an intent carries a number."""
    return _numbered(intent.to_dict())


def _numbered(value: object) -> bool:
    if isinstance(value, dict):
        return any(map(_numbered, value.values()))
    if isinstance(value, list | tuple):
        return any(map(_numbered, value))
    if isinstance(value, str):
        return value.lstrip("-").replace(".", "", 1).isdecimal()
    return isinstance(value, int | float) and not isinstance(value, bool)
