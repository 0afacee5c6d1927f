"""The tables of phrases in tests/language/phrases: a phrase a row, tab-separated, names on top."""

import csv
from pathlib import Path

from fieldvoice.language.intents import Intent, NotUnderstood

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


def judged(row: dict[str, str], found: Intent) -> str:
    """ "right", "refused" or "wrong"."""
    refused = isinstance(found, NotUnderstood)
    if "intent" not in row:  # must not count as anything
        return "right" if refused else "wrong"
    if refused:
        return "refused"
    return "right" if found.name() == row["intent"] and means(row, found) else "wrong"


def means(row: dict[str, str], found: Intent) -> bool:
    """Whether an intent of the right kind carries what the row says."""
    said = found.to_dict()
    said.pop("intent")
    if isinstance(said.get("readings"), list):
        wanted = [row[place] for place in ("first", "second", "third") if row.get(place)]
        return wanted == [
            " ".join(str(one[part]) for part in ("value", "unit", "quantity") if one[part])
            for one in said["readings"]
        ]
    plain = {
        name: f"{value:g}" if isinstance(value, float) else str(value)
        for name, value in said.items()
        if value is not None
    }
    return plain == fields(row)
