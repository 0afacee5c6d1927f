"""A cell of a table for a spreadsheet: words that it would take for a formula are guarded."""

from __future__ import annotations

import re

_FORMULA = ("=", "+", "-", "@", "\t", "\r")  # how a spreadsheet knows a formula
_NUMBER = re.compile(r"-?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?")


def csv_cell(value: object) -> str:
    """The cell's text: empty for None; an apostrophe in front of a formula that is no number."""
    text = "" if value is None else str(value)
    return f"'{text}" if text.startswith(_FORMULA) and not _NUMBER.fullmatch(text) else text
