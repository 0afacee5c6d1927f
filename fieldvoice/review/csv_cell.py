"""A cell of a CSV file that no spreadsheet takes for a formula."""

from __future__ import annotations

import re

_FORMULA = ("=", "+", "-", "@", "\t", "\r")  # how a spreadsheet knows one
_NUMBER = re.compile(r"-?\d+(\.\d+)?([Ee][+-]?\d+)?")


def csv_cell(value: object) -> str:
    """The text of a cell: one that begins like a formula gets an apostrophe, unless it is a number.

    None is empty; times in ISO 8601 with a blank between date and time.
    """
    text = "" if value is None else str(value)
    formula = text.lstrip(" ").startswith(_FORMULA)
    return f"'{text}" if formula and not _NUMBER.fullmatch(text) else text
