"""The page of a line says whose voice it was heard with."""

from pathlib import Path

import pytest

from fieldvoice.desk.found.lines import rows
from fieldvoice.desk.found.one_line import line_of
from fieldvoice.desk.library import Library
from fieldvoice.desk.shelf import Shelf
from fieldvoice.jobstate import events as e
from support.desk_jobs import put
from support.review_job import Book, started


@pytest.fixture
def book() -> Book:
    book = Book()
    book.add(started())
    book.heard("next")
    book.add(e.OwnVoiceUsed("dana", "d" * 64))
    book.heard("no leak found")
    book.heard("what now", source="typed")
    book.add(e.NO_OWN_VOICE)
    book.heard("done")
    return book


def test_lines_after_it_are_heard_with_it_until_it_is_used_no_more(
    book: Book, tmp_path: Path
) -> None:
    put(tmp_path / "jobs" / "a", book.entries)
    job = Library(Shelf(tmp_path / "jobs")).job("a")
    heard = {row.words: line_of(job, row.seq).own_voice for row in rows(job) if row.line}
    assert heard == {"next": "", "no leak found": "dana", "what now": "", "done": ""}
    between = [row.words for row in rows(job) if row.line is None]
    assert [words for words in between if "voice" in words] == [
        "lines are heard with the voice of dana from here (file dddddddddddd)",
        "lines are heard with nobody's own voice from here"]
