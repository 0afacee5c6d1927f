"""The tables of phrases in tests/language/phrases: a phrase a row, tab-separated, names on top."""

import csv
from pathlib import Path

FOLDER = Path(__file__).parent.parent / "language" / "phrases"


def rows(name):
    """The rows of one table as dicts; an empty cell is a field that was not said."""
    with (FOLDER / f"{name}.tsv").open(encoding="utf-8", newline="") as table:
        return list(csv.DictReader(table, delimiter="\t", quoting=csv.QUOTE_NONE))


def fields(row):
    """What Intent.to_dict() must hold, as text."""
    return {
        name: value for name, value in row.items() if name not in ("phrase", "intent") and value
    }
