"""The tables of phrases in tests/language/phrases: a phrase a row, tab-separated, names on top."""

import csv
from pathlib import Path

from fieldvoice.language.intents import ForUnit, Intent, NotUnderstood

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
    if isinstance(found, ForUnit):
        return found.unit == row["unit"] and said_for_unit(found) == (row["said"] or "")
    if "first" not in row and isinstance(said.get("readings"), list):
        return as_text(found) == fields(row)
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


def said_for_unit(found: Intent) -> str:
    """What a line for a unit says, in a few words; empty for any other."""
    if not isinstance(found, ForUnit):
        return ""
    parts = found.said.to_dict()
    values = [v for name, v in parts.items() if v is not None and not isinstance(v, list)]
    return " ".join(f"{v:g}" if isinstance(v, float) else str(v) for v in values)


def as_text(found: Intent) -> dict[str, str]:
    """What an intent carries, its readings in one line: "412 microns vacuum; 72 degrees"."""
    said = {name: value for name in found.carries()
            if (value := getattr(found, name)) is not None}
    if "readings" in said:
        said["readings"] = "; ".join(
            " ".join(str(part) for part in (one.value, one.unit, one.quantity) if part is not None)
            for one in said["readings"])
    return {name: str(value) for name, value in said.items()}
