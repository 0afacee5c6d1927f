"""Phrases that say much in few words: depths, lists, and lines that belong together."""

from __future__ import annotations

import pytest

from fieldvoice.language.intents import Intent, NotUnderstood
from fieldvoice.language.parser import understand
from support.phrase_tables import as_text, fields, rows
from support.shipped_acceptor import shipped_acceptor

TABLE = pytest.mark.parametrize("row", rows("few-words"), ids=lambda row: row["phrase"])


@pytest.mark.parametrize("typed", [True, False], ids=["typed", "heard"])
@TABLE
def test_a_phrase_of_few_words_means_what_the_table_says(row: dict[str, str], typed: bool) -> None:
    intent = understand(row["phrase"], typed=typed)
    assert intent.name() == row["intent"], intent
    assert as_text(intent) == fields(row)
    assert Intent.from_dict(intent.to_dict()) == intent


def test_the_recognizer_can_hear_each_of_them() -> None:
    acceptor = shipped_acceptor()
    assert [row["phrase"] for row in rows("few-words")
            if acceptor.cost(row["phrase"].split()) is None] == []


@pytest.mark.parametrize(
    ("line", "readings"),
    [
        ("start hold at 140", "140"),
        ("140 psig start hold", "140 psig"),
        ("nitrogen 445 psig, start the hold", "445 psig nitrogen-pressure"),
        ("done design pressure 450 psig", "450 psig design-pressure"),
        ("done, refrigerant amount 6 lb 4 oz", "100 lb-oz refrigerant-amount"),
        ("every step please", ""),
    ],
)
def test_they_can_be_typed_with_digits_and_units(line: str, readings: str) -> None:
    assert as_text(understand(line)).get("readings", "") == readings


@pytest.mark.parametrize("line", [
    "start the hold four twelve",  # a length of time, half heard
    "done four fifty",  # of what is open, or of what comes next?
    "understood", "number not done", "limits", "readings",
])
def test_what_could_be_something_else_is_none_of_them(line: str) -> None:
    kinds = ("start-hold-at", "next-readings", "understood-done", "not-done", "change-depth")
    found = understand(line, typed=False)
    assert found.name() not in kinds
    assert isinstance(found, NotUnderstood) or line == "understood"
