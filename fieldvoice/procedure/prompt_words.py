"""How long a prompt is once it is spoken, and whether it asks for one thing only."""

from __future__ import annotations

import re
from decimal import Decimal

from fieldvoice.procedure.flow import PLACEHOLDER
from fieldvoice.procedure.model import Procedure
from fieldvoice.quantity.units import UNITS

_READING = 5  # words of a reading: "twelve hundred and fifty microns"
_TIME = 4  # "four minutes thirty seconds"


def spoken_words(procedure: Procedure, text: str) -> int:
    """How many words are spoken, with the values in place of their {names}."""
    values = sum(_value(procedure, key) for key in PLACEHOLDER.findall(text))
    others = PLACEHOLDER.sub(" ", text).split()
    figures = [word.strip(".,?:") for word in others if any(c.isalnum() for c in word)]
    return values + sum(_number(Decimal(word)) if _is_number(word) else 1 for word in figures)


def lists(text: str) -> bool:
    """Whether a sentence lists things to do; one that asks, or says what to answer, may list."""
    sentences = re.findall(r"[^.?!]+[.?!]?", text)
    told = [s for s in sentences if not s.endswith("?") and not s.strip().startswith("Say ")]
    return any(s.count(",") > 1 or ("," in s and " and " in s.split(",", 1)[1]) for s in told)


def _is_number(word: str) -> bool:
    return re.fullmatch(r"\d+(\.\d+)?", word) is not None


def _value(procedure: Procedure, key: str) -> int:
    what, _, name = key.partition(".")
    if what == "limit" and name in procedure.limits:
        limit = procedure.limits[name]
        unit = UNITS[limit.unit].words if limit.unit in UNITS else limit.unit
        return _number(abs(limit.value)) + len(unit.split()) + (limit.value < 0)
    if what == "answer" and name in procedure.by_name:
        return max((len(w.name.split("-")) for w in procedure.step(name).choices), default=1)
    return {"hold": _TIME, "lap": 1, "laps": 1}.get(what, _READING)


def _number(value: Decimal) -> int:
    """Words of a number as it is read aloud: 300 is "three hundred", 1.5 "one point five"."""
    whole, _, after = format(value, "f").partition(".")
    return _whole(int(whole)) + (1 + len(after) if after else 0)


def _whole(value: int) -> int:
    if value >= 1000:
        return _whole(value // 1000) + 1 + (_whole(value % 1000) if value % 1000 else 0)
    if value >= 100:
        return 2 + (_whole(value % 100) if value % 100 else 0)
    return 1 if value <= 20 or value % 10 == 0 else 2
